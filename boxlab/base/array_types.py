"""The type of what the physics floors answer with; what they take is numpy's own ArrayLike."""

from __future__ import annotations

import numpy as np

# One number, or an array: designs along the leading axes, frequency or time last.
Values = float | complex | np.ndarray
