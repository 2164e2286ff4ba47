"""The page itself: what it holds, how it looks, what it does. No script of anyone else."""
