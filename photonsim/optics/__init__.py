"""First-order optics of a lamp: what formulae tell before a photon is traced."""
