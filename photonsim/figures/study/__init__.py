"""Figures of many designs: comparisons, studies and fits."""
