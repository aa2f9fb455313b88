"""The roots that the conduction series are made of, and the Bessel functions that they need."""

import math
from collections.abc import Callable
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

__all__ = ["Array", "bessel", "cylinder_roots", "slab_roots"]

Array = NDArray[np.float64]


def _roots(
    value: Callable[[Array], Array], slope: Callable[[Array], Array], low: Array, high: Array, *, rising: Array
) -> Array:
    """Find one root in each bracket: halve it, then let Newton finish without leaving the bracket."""
    low, high = low.copy(), high.copy()
    for _ in range(20):
        middle = 0.5 * (low + high)
        left = (value(middle) > 0) != rising
        low, high = np.where(left, middle, low), np.where(left, high, middle)
    root = 0.5 * (low + high)
    for _ in range(4):
        root = np.clip(root - value(root) / slope(root), low, high)
    return root


def bessel(order: int, x: Array) -> Array:
    """Return the Bessel function of the first kind from Bessel's integral (DLMF 10.9.2).

    The mid-point rule over a whole period of a smooth periodic function converges faster than any power once it has
    more points than the integrand has waves.
    """
    points = 64 + 2 * int(np.max(np.abs(x), initial=0.0))
    angle = (np.arange(points) + 0.5) * (math.pi / points)
    wave: Array = np.cos(order * angle - x[..., None] * np.sin(angle))
    return np.asarray(wave.mean(axis=-1), dtype=np.float64)


@lru_cache(maxsize=64)
def slab_roots(biot: float, count: int) -> Array:
    """Return the first roots of ζ sin ζ = Bi cos ζ, rising; not to be written to."""
    n = np.arange(count, dtype=np.float64)
    roots = _roots(
        lambda z: z * np.sin(z) - biot * np.cos(z),
        lambda z: (1.0 + biot) * np.sin(z) + z * np.cos(z),
        n * math.pi,
        (n + 0.5) * math.pi,
        rising=n % 2 == 0,
    )
    roots.flags.writeable = False
    return roots


@lru_cache(maxsize=64)
def cylinder_roots(biot: float, count: int) -> Array:
    """Return the first roots of ζ J1(ζ) = Bi J0(ζ), rising; not to be written to."""
    n = np.arange(count, dtype=np.float64)
    even = n % 2 == 0
    zeros_j0 = _roots(
        lambda z: bessel(0, z), lambda z: -bessel(1, z), (n + 0.5) * math.pi, (n + 1.0) * math.pi, rising=~even
    )
    zeros_j1 = _roots(
        lambda z: bessel(1, z),
        lambda z: bessel(0, z) - bessel(1, z) / z,
        (n + 1.0) * math.pi,
        (n + 1.5) * math.pi,
        rising=~even,
    )
    roots = _roots(
        lambda z: z * bessel(1, z) - biot * bessel(0, z),
        lambda z: z * bessel(0, z) + biot * bessel(1, z),
        np.concatenate([[0.0], zeros_j1[:-1]]),
        zeros_j0,
        rising=even,
    )
    roots.flags.writeable = False
    return roots
