"""What a scene and its result come to, in words: layout, verdict, brightness, focus."""
