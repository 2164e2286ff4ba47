"""Figures of the screen: the picture, its blur, and what the stop does to it."""
