"""The gap, panels and cut list, cabin, amplifier, wiring, cable and restraint."""
