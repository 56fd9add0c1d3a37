"""Splitters and draws of juice, liquor, sugar and water."""

from __future__ import annotations

from canewright.plant.splitting import Draw, ShareSplitter
from canewright.plant.station import inlet, outlet
from canewright.plant.streams import Juice, Liquor, Massecuite, Water


class JuiceSplitter(ShareSplitter):
    """Juice, bagasse or mud split by a set share, such as bagacillo taken from bagasse."""

    kind = "juice splitter"
    feed = inlet(Juice)
    part, rest = outlet(Juice), outlet(Juice)


class LiquorSplitter(ShareSplitter):
    """Syrup, liquor or molasses split by a set share."""

    kind = "liquor splitter"
    feed = inlet(Liquor)
    part, rest = outlet(Liquor), outlet(Liquor)


class SugarSplitter(ShareSplitter):
    """Sugar, magma or massecuite split by a set share; crystals stay crystals."""

    kind = "sugar splitter"
    feed = inlet(Massecuite)
    part, rest = outlet(Massecuite), outlet(Massecuite)


class JuiceDraw(Draw):
    """Juice, bagasse or mud of which a user draws what it needs."""

    kind = "juice draw"
    feed = inlet(Juice)
    part, rest = outlet(Juice), outlet(Juice)


class LiquorDraw(Draw):
    """Syrup, liquor or molasses of which a user draws what it needs."""

    kind = "liquor draw"
    feed = inlet(Liquor)
    part, rest = outlet(Liquor), outlet(Liquor)


class SugarDraw(Draw):
    """Sugar, magma or massecuite of which a user draws what it needs; crystals stay crystals."""

    kind = "sugar draw"
    feed = inlet(Massecuite)
    part, rest = outlet(Massecuite), outlet(Massecuite)


class WaterDraw(Draw):
    """Water or condensate of which a user draws what it needs; what is over goes on."""

    kind = "water draw"
    feed = inlet(Water)
    part, rest = outlet(Water), outlet(Water)
