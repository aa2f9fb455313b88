"""Mutation testing of what judges: small faults put into it on purpose, each of which a test must notice."""
