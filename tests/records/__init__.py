"""What is printed and handed over."""
