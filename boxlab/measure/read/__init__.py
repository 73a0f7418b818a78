"""Impedance tables as they come, read into a `Sweep`."""
