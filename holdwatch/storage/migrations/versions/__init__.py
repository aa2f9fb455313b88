"""One file a version of the tables; each says which one it follows."""
