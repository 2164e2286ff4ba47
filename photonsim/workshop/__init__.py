"""What is cut, measured and read off with the parts on the table."""
