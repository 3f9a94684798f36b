"""How well the ears hear: recordings to measure with, engines, measures, calibration, confusable phrases."""
