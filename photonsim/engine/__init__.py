"""Runs batches: the only caller of the kernel."""

from photonsim.engine.open_run import OpenRun
from photonsim.engine.paths import sample_paths
from photonsim.engine.run import Resume, trace
from photonsim.engine.stop_rule import StopRule, forecast
from photonsim.engine.workers import processors

__all__ = ["OpenRun", "Resume", "StopRule", "forecast", "processors", "sample_paths", "trace"]
