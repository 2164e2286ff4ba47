"""Figures of the panel: light by place and by angle."""
