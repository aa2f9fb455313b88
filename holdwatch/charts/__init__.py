"""The one chart language of screen and paper."""
