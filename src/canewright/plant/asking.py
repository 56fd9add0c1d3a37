"""Flows that a user asks for from upstream: first estimates written into the stream that comes."""

from __future__ import annotations

from canewright.plant.streams import Stream


def asked(stream: Stream, flow: float) -> dict[str, float]:
    """A first estimate of an inlet stream scaled to ``flow`` t/h; water only, while its composition is not known."""
    now = float(stream.flow)
    if now <= 1e-9:
        return {f"{stream.prefix}.water": flow}
    names = [n for n in stream.holds if n in stream.COMPONENTS or n in ("colour", "crystal_colour")]
    return {f"{stream.prefix}.{n}": float(stream.component(n)) * flow / now for n in names}
