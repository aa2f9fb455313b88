"""The whole way: a reading comes in, a verdict comes out, a phone rings, a page prints."""
