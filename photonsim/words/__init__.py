"""Words: numbers, paragraphs, cautions, and the one way out for what others wrote."""
