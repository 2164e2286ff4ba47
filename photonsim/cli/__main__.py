"""`python -m photonsim.cli`, for where the installed command is not on the path."""

from photonsim.cli import main

main(prog_name="photonsim")
