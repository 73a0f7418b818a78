"""Levels, weightings, dose, programme and listening."""
