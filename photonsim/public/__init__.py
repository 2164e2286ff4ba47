"""The public functions: each the command of its name, for scenes, results and files of either."""
