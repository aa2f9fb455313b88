"""What makes a quiet change visible: lines that name the line before them, sealed readings, a signature."""
