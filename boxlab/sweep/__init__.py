from boxlab.sweep.reading import Line, Sweep, read_sweep
