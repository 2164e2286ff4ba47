"""`python -m photonsim.cli`, as `python -m photonsim`."""

from photonsim.__main__ import main

main()
