"""What was loaded stays, and need not be looked through for garbage.

After each run of a page, or of a part of one, the library of the screens has Python look for garbage among everything
that there is. That is by far the most of what our libraries are made of, and of it nothing ever goes: on a quiet
machine it takes 60 to 120 ms, four times what there is to draw. What was made since is looked through as before.
"""

import gc

__all__ = ["settle"]


def settle() -> None:
    """Leave out of every search what there is now; call it where something large was just loaded."""
    gc.freeze()
