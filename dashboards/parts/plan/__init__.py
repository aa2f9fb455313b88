"""The written plan on the Set-up page: products, what must be known of them, and their steps."""

from dashboards.parts.plan.products import draw

__all__ = ["draw"]
