"""One suite that every rule passes."""
