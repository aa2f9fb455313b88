"""What tells apart a clause that is asked of one vessel more than once.

The first cooling and its holding have no name. Any other process is its own occasion, and what a reheating begins,
a second cooling and its holding, is ``SECOND``.
"""

__all__ = ["SECOND"]

SECOND = "after reheating"
