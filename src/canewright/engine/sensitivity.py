"""How the whole state answers a change of some settings, along the equations."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.sparse.linalg import splu

from canewright.engine.model import Expressions, Model, Vector


def total_slope(model: Model, expressions: Expressions, scaled: Vector, settings: Sequence[str]) -> NDArray[np.float64]:
    """Derivative of each expression to each named setting (scaled) with every equation kept satisfied.

    By the adjoint: one back-solve for each expression. Raises KeyError for an unknown setting.
    """
    n = model.n
    _, jacobian = model.jacobian_at(scaled)
    _, slope = expressions.jacobian_at(scaled)
    columns = [model.index[name] for name in settings]
    weight = splu(jacobian[:, :n].tocsc()).solve(slope[:, :n].T.toarray(), trans="T")
    return np.asarray(slope[:, columns].toarray() - (jacobian[:, columns].T @ weight).T)
