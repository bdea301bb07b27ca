#!/usr/bin/env python3
"""Times diffraction over a 200-point profile in pycraf and prints the ratio.

A peer at test time only (pycraf is GPL-3.0): nothing here is part of the program.

    python3 -m venv peer && peer/bin/pip install pycraf==2.1.0 'numpy<3'
    cargo bench -p link --bench profile      # gives our nanoseconds
    peer/bin/python reference/bench_diffraction.py [OUR_NANOSECONDS]

The profile is that of crates/link/benches/profile.rs.
"""

import math
import sys
import time
import warnings

warnings.filterwarnings("ignore")

import numpy as np  # noqa: E402
from astropy import units as u  # noqa: E402
from pycraf import pathprof  # noqa: E402

POINTS = 200


def best(of, repeats=20, times=50):
    """Least mean time of one call, seconds."""
    least = math.inf
    for _ in range(repeats):
        start = time.perf_counter()
        for _ in range(times):
            of()
        least = min(least, (time.perf_counter() - start) / times)
    return least


i = np.arange(POINTS)
x = i * 200.0 / POINTS
distances = i * 12.0 / (POINTS - 1) * u.km
heights = (150.0 + 40.0 * np.sin(x / 17.0) + 15.0 * np.cos(x / 3.1)) * u.m


def path():
    """A path from a profile."""
    return pathprof.PathProp(
        0.868 * u.GHz,
        290.0 * u.K,
        1013.0 * u.hPa,
        0.0 * u.deg, 50.0 * u.deg,
        0.1 * u.deg, 50.05 * u.deg,
        1.5 * u.m, 60.0 * u.m,
        1.0 * u.m,
        50.0 * u.percent,
        delta_N=39.0 * u.dimensionless_unscaled / u.km,
        N0=325.0 * u.dimensionless_unscaled,
        hprof_dists=distances,
        hprof_heights=heights,
        hprof_bearing=0.0 * u.deg,
        hprof_backbearing=180.0 * u.deg,
        polarization=1,
    )


ready = path()
whole = best(path)
loss = best(lambda: pathprof.loss_diffraction(ready))
print("median diffraction loss:", pathprof.loss_diffraction(ready)[0])
print(f"pycraf, one path: from profile {whole * 1e6:.1f} us, loss of a ready path {loss * 1e6:.1f} us")

# Its quickest door: the paths from the first point to every other one, in one compiled call that
# also reckons ducting and troposcatter. On average they have half of the points.
pathprof.set_num_threads(1)
batch = pathprof.height_path_data_generic(12.0 * u.km, 12_000.0 / (POINTS - 1) * u.m, 0.05 * u.deg, 50.0 * u.deg)
points = len(batch["distances"])
batch["heights"] = np.interp(batch["distances"], distances.value, heights.value)
fast = best(
    lambda: pathprof.atten_path_fast(
        0.868 * u.GHz, 290.0 * u.K, 1013.0 * u.hPa, 1.5 * u.m, 60.0 * u.m, 50.0 * u.percent, batch, polarization=1
    ),
    repeats=10,
    times=5,
)
each = fast / (points * points / 2) * POINTS
print(f"pycraf, {points} paths at once with all losses: {fast * 1e6:.0f} us, {each * 1e6:.1f} us for each 200 points")
if len(sys.argv) > 1:
    ours = float(sys.argv[1]) * 1e-9
    print(
        f"ratio, profile to loss {(whole + loss) / ours:.0f}; loss of a ready path alone {loss / ours:.0f}; "
        f"at once {each / ours:.0f}"
    )
