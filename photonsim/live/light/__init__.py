"""What is traced for a page, in which order, and what is shown of it."""
