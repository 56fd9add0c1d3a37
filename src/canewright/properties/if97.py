"""The Gibbs functions of water and steam: IAPWS-IF97 regions 1, 2 and 4, without branches.

Source: IAPWS R7-97(2012), Revised Release on the Industrial Formulation 1997 for the Thermodynamic Properties of Water
and Steam: equations 7, 15 to 17, 30 and 31, tables 2, 10, 11 and 34. Pressures here are in MPa and temperatures in
kelvin, as in the release; ``steam`` puts them in trade units.

Each table groups its terms by the power of pressure, and each power of temperature is formed once, so that the symbolic
graph stays small when a plant model uses these functions many times.
"""

from __future__ import annotations

from canewright.quantity.maths import Num, log, sqrt

GAS_CONSTANT = 0.461526
"""Specific gas constant of water, kJ/(kg·K)."""

Row = tuple[int, tuple[tuple[int, float], ...]]
"""A power of pressure and the (power of temperature, coefficient) pairs that go with it."""

LIQUID: tuple[Row, ...] = (
    (0, (
        (-2, 0.14632971213167), (-1, -0.84548187169114), (0, -3.756360367204), (1, 3.3855169168385),
        (2, -0.95791963387872), (3, 0.15772038513228), (4, -0.016616417199501), (5, 0.00081214629983568),
    )),
    (1, (
        (-9, 0.00028319080123804), (-7, -0.00060706301565874), (-1, -0.018990068218419), (0, -0.032529748770505),
        (1, -0.021841717175414), (3, -5.283835796993e-05),
    )),
    (2, (
        (-3, -0.00047184321073267), (0, -0.00030001780793026), (1, 4.7661393906987e-05), (3, -4.4141845330846e-06),
        (17, -7.2694996297594e-16),
    )),
    (3, ((-4, -3.1679644845054e-05), (0, -2.8270797985312e-06), (6, -8.5205128120103e-10))),
    (4, ((-5, -2.2425281908e-06), (-2, -6.5171222895601e-07), (10, -1.4341729937924e-13))),
    (5, ((-8, -4.0516996860117e-07),)),
    (8, ((-11, -1.2734301741641e-09), (-6, -1.7424871230634e-10))),
    (21, ((-29, -6.8762131295531e-19),)),
    (23, ((-31, 1.4478307828521e-20),)),
    (29, ((-38, 2.6335781662795e-23),)),
    (30, ((-39, -1.1947622640071e-23),)),
    (31, ((-40, 1.8228094581404e-24),)),
    (32, ((-41, -9.3537087292458e-26),)),
)  # fmt: skip
"""Table 2: region 1, in powers of (7.1 - p/16.53) and (1386/T - 1.222)."""

VAPOUR: tuple[Row, ...] = (
    (1, (
        (0, -0.0017731742473213), (1, -0.017834862292358), (2, -0.045996013696365), (3, -0.057581259083432),
        (6, -0.05032527872793),
    )),
    (2, (
        (1, -3.3032641670203e-05), (2, -0.00018948987516315), (4, -0.0039392777243355), (7, -0.043797295650573),
        (36, -2.6674547914087e-05),
    )),
    (3, (
        (0, 2.0481737692309e-08), (1, 4.3870667284435e-07), (3, -3.227767723857e-05), (6, -0.0015033924542148),
        (35, -0.040668253562649),
    )),
    (4, ((1, -7.8847309559367e-10), (2, 1.2790717852285e-08), (3, 4.8225372718507e-07))),
    (5, ((7, 2.2922076337661e-06),)),
    (6, ((3, -1.6714766451061e-11), (16, -0.0021171472321355), (35, -23.895741934104))),
    (7, ((0, -5.905956432427e-18), (11, -1.2621808899101e-06), (25, -0.038946842435739))),
    (8, ((8, 1.1256211360459e-11), (36, -8.2311340897998))),
    (9, ((13, 1.9809712802088e-08),)),
    (10, ((4, 1.0406965210174e-19), (10, -1.0234747095929e-13), (14, -1.0018179379511e-09))),
    (16, ((29, -8.0882908646985e-11), (50, 0.10693031879409))),
    (18, ((57, -0.33662250574171),)),
    (20, ((20, 8.9185845355421e-25), (35, 3.0629316876232e-13), (48, -4.2002467698208e-06))),
    (21, ((21, -5.9056029685639e-26),)),
    (22, ((53, 3.7826947613457e-06),)),
    (23, ((39, -1.2768608934681e-15),)),
    (24, ((26, 7.3087610595061e-29), (40, 5.5414715350778e-17), (58, -9.436970724121e-07))),
)  # fmt: skip
"""Table 11: residual part of region 2, in powers of p/(1 MPa) and (540/T - 0.5)."""

IDEAL: Row = (0, (
    (-5, -0.005608791128302), (-4, 0.071452738081455), (-3, -0.40710498223928), (-2, 1.4240819171444),
    (-1, -4.383951131945), (0, -9.6927686500217), (1, 10.086655968018), (2, -0.28408632460772),
    (3, 0.021268463753307),
))  # fmt: skip
"""Table 10: ideal-gas part of region 2, in powers of 540/T."""

N4 = (
    1167.0521452767, -724213.16703206, -17.073846940092, 12020.82470247, -3232555.0322333,
    14.91510861353, -4823.2657361591, 405113.40542057, -0.23855557567849, 650.17534844798,
)  # fmt: skip
"""Table 34: the saturation line."""


class Powers(dict[int, Num]):
    """Integer powers of one quantity, each formed once by multiplication and then shared."""

    def __init__(self, base: Num) -> None:
        """Powers of ``base``; negative powers need a base that is not zero."""
        super().__init__({0: 1.0, 1: base})

    def __missing__(self, power: int) -> Num:
        """``base`` to an integer power asked for the first time."""
        found = self[power] = 1.0 / self[1] if power == -1 else self._product(power)
        return found

    def _product(self, power: int) -> Num:
        half = power // 2 if power > 0 else -(-power // 2)
        return self[half] * self[power - half]


def _value(rows: tuple[Row, ...], pressure: Powers, temperature: Powers) -> Num:
    """The sum of all terms of a table, or of its derivative."""
    return _sum([pressure[i] * _sum([n * temperature[j] for j, n in row]) for i, row in rows])


def _sum(terms: list[Num]) -> Num:
    return sum(terms[1:], terms[0])


def _by_pressure(rows: tuple[Row, ...]) -> tuple[Row, ...]:
    """The table of the derivative to pressure."""
    return tuple((i - 1, tuple((j, i * n) for j, n in row)) for i, row in rows if i)


def _by_temperature(rows: tuple[Row, ...]) -> tuple[Row, ...]:
    """The table of the derivative to temperature."""
    sloped = [(i, tuple((j - 1, j * n) for j, n in row if j)) for i, row in rows]
    return tuple((i, row) for i, row in sloped if row)


LIQUID_BY_PRESSURE, LIQUID_BY_TEMPERATURE = _by_pressure(LIQUID), _by_temperature(LIQUID)
VAPOUR_BY_PRESSURE, VAPOUR_BY_TEMPERATURE = _by_pressure(VAPOUR), _by_temperature(VAPOUR)
IDEAL_BY_TEMPERATURE = _by_temperature((IDEAL,))


def _liquid_powers(kelvin: Num, megapascal: Num) -> tuple[Powers, Powers]:
    return Powers(7.1 - megapascal / 16.53), Powers(1386.0 / kelvin - 1.222)


def liquid_enthalpy(kelvin: Num, megapascal: Num) -> Num:
    """Enthalpy of liquid water, kJ/kg (region 1)."""
    pressure, temperature = _liquid_powers(kelvin, megapascal)
    return GAS_CONSTANT * 1386.0 * _value(LIQUID_BY_TEMPERATURE, pressure, temperature)


def liquid_volume(kelvin: Num, megapascal: Num) -> Num:
    """Specific volume of liquid water, m³/kg (region 1)."""
    pressure, temperature = _liquid_powers(kelvin, megapascal)
    return -GAS_CONSTANT * 1e-3 / 16.53 * kelvin * _value(LIQUID_BY_PRESSURE, pressure, temperature)


def liquid_entropy(kelvin: Num, megapascal: Num) -> Num:
    """Entropy of liquid water, kJ/(kg·K) (region 1)."""
    pressure, temperature = _liquid_powers(kelvin, megapascal)
    slope = _value(LIQUID_BY_TEMPERATURE, pressure, temperature)
    return GAS_CONSTANT * (1386.0 / kelvin * slope - _value(LIQUID, pressure, temperature))


def _vapour_powers(kelvin: Num, megapascal: Num) -> tuple[Powers, Powers, Powers]:
    inverse = 540.0 / kelvin
    return Powers(megapascal), Powers(inverse), Powers(inverse - 0.5)


def vapour_enthalpy(kelvin: Num, megapascal: Num) -> Num:
    """Enthalpy of steam, kJ/kg (region 2)."""
    pressure, ideal, residual = _vapour_powers(kelvin, megapascal)
    slope = _value(IDEAL_BY_TEMPERATURE, pressure, ideal) + _value(VAPOUR_BY_TEMPERATURE, pressure, residual)
    return GAS_CONSTANT * 540.0 * slope


def vapour_volume(kelvin: Num, megapascal: Num) -> Num:
    """Specific volume of steam, m³/kg (region 2)."""
    pressure, _, residual = _vapour_powers(kelvin, megapascal)
    return GAS_CONSTANT * 1e-3 * kelvin * (1.0 / megapascal + _value(VAPOUR_BY_PRESSURE, pressure, residual))


def vapour_entropy(kelvin: Num, megapascal: Num) -> Num:
    """Entropy of steam, kJ/(kg·K) (region 2)."""
    pressure, ideal, residual = _vapour_powers(kelvin, megapascal)
    slope = _value(IDEAL_BY_TEMPERATURE, pressure, ideal) + _value(VAPOUR_BY_TEMPERATURE, pressure, residual)
    value = log(megapascal) + _value((IDEAL,), pressure, ideal) + _value(VAPOUR, pressure, residual)
    return GAS_CONSTANT * (540.0 / kelvin * slope - value)


def boiling_pressure(kelvin: Num) -> Num:
    """Pressure at which water boils, MPa (region 4)."""
    n1, n2, n3, n4, n5, n6, n7, n8, n9, n10 = N4
    theta = kelvin + n9 / (kelvin - n10)
    a = (theta + n1) * theta + n2
    b = (n3 * theta + n4) * theta + n5
    c = (n6 * theta + n7) * theta + n8
    root = 2.0 * c / (sqrt(b * b - 4.0 * a * c) - b)
    square = root * root
    return square * square


def boiling_temperature(megapascal: Num) -> Num:
    """Temperature at which water boils, K (region 4)."""
    n1, n2, n3, n4, n5, n6, n7, n8, n9, n10 = N4
    beta = sqrt(sqrt(megapascal))
    e = (beta + n3) * beta + n6
    f = (n1 * beta + n4) * beta + n7
    g = (n2 * beta + n5) * beta + n8
    root = n10 - 2.0 * g / (f + sqrt(f * f - 4.0 * e * g))
    return 0.5 * (root - sqrt(root * root - 4.0 * (n9 + n10 * (root - n10))))
