"""What goes wrong in every kitchen, and what the record then shows."""
