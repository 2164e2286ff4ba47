"""Figures of the lamp itself: side view, mounting, supply, ledger."""
