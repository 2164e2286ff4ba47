"""Absorbing polariser: as the reflective one, but for what it turns back, which is nothing."""

from photonsim.kernel.reflective_polariser import cross

__all__ = ("cross",)
