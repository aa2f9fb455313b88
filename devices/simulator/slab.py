"""Heat conduction in a layer of food: finite differences with a surface that exchanges heat.

The layer is `depth` thick and cooled on both faces, or through its top only. What counts is the half of it (or all of
it, cooled through the top): one side insulated, the other in air or a bath that may change at any instant, as may the
surface coefficient. It leaves out evaporation and stirring. The tests hold it against the exact series of a slab.
"""

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from devices.simulator.foods import Food

__all__ = ["cool_layer"]

Array = NDArray[np.float64]

NODES = 24


@lru_cache(maxsize=256)
def _step(food: Food, length_m: float, h_w_m2k: float, seconds: float) -> tuple[Array, Array]:
    """Return the matrices of one step of Crank and Nicolson: T ← keep @ T + take · air."""
    dx = length_m / (NODES - 1)
    capacity = np.full(NODES, food.density_kg_m3 * food.heat_j_kgk * dx)
    capacity[0] /= 2
    capacity[-1] /= 2
    between = food.k_w_mk / dx
    flow = np.zeros((NODES, NODES))
    for n in range(NODES - 1):
        flow[n, n] += between
        flow[n + 1, n + 1] += between
        flow[n, n + 1] -= between
        flow[n + 1, n] -= between
    flow[-1, -1] += h_w_m2k
    rate = flow / capacity[:, None]
    half = 0.5 * seconds * rate
    inverse = np.linalg.inv(np.eye(NODES) + half)
    from_air = np.zeros(NODES)
    from_air[-1] = seconds * h_w_m2k / capacity[-1]
    return inverse @ (np.eye(NODES) - half), inverse @ from_air


def cool_layer(
    food: Food,
    *,
    depth_m: float,
    both_faces: bool,
    start_c: float,
    air_c: Array,
    h_w_m2k: Array,
    step_s: float,
    probe_at: float = 0.0,
) -> Array:
    """Return the temperature at the probe at the start and after each step.

    Parameters
    ----------
    food : Food
    depth_m : float. [m]
    both_faces : bool. Whether the layer is cooled on both faces or through its top only.
    start_c : float. [°C], of the whole layer at the start.
    air_c, h_w_m2k : float array, shape (n,). [°C], [W/m²K], during each step.
    step_s : float. [s]
    probe_at : float. 0 at the middle (or the insulated bottom), 1 at the surface.

    Returns
    -------
    float array, shape (n + 1,). [°C]
    """
    length = depth_m / 2 if both_faces else depth_m
    layer = np.full(NODES, start_c)
    where = probe_at * (NODES - 1)
    node = min(int(where), NODES - 2)
    upper = where - node
    found = np.empty(len(air_c) + 1)
    found[0] = start_c
    for n, (air, h) in enumerate(zip(air_c.tolist(), h_w_m2k.tolist(), strict=True), start=1):
        keep, take = _step(food, length, h, step_s)
        layer = keep @ layer + take * air
        found[n] = layer[node] * (1 - upper) + layer[node + 1] * upper
    return found
