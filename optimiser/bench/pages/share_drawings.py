"""Which path makes the force of a damper, drawn for pages."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from markupsafe import Markup

from damping_model.damper.damper import Damper
from optimiser.bench.bench import Bench
from optimiser.jobs.what_if import FASTEST, SLOWEST, WhatIf
from optimiser.report.plain_axes import PlotBand
from optimiser.report.plain_shares import ShareLayer, shares_svg

POINTS = 24
"""Of a stroke."""


def share_drawings(
    bench: Bench, damper: Damper, *, name: str, bands: Sequence[PlotBand] = ()
) -> tuple[tuple[Markup, tuple[ShareLayer, ...]], ...]:
    """A drawing of each stroke, with its layers.

    Parameters
    ----------
    bench : for units.
    damper : as it stands.
    name : of the figure; letters and hyphens.
    bands : whose spans are marked.
    """
    speeds = np.geomspace(SLOWEST, FASTEST, POINTS)
    with bench.computing:
        curve = WhatIf(label="as it is", damper=damper).curve(np.concatenate([-speeds[::-1], speeds]))
    return shares_svg(curve, damper.valves, units=bench.units, name=name, bands=bands)
