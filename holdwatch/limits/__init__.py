"""Published limits as data: one file a code of practice."""
