"""What a page does to a design: controls, steps, what is kept and found again."""
