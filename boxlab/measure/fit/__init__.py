"""What a sweep tells: tuning, driver and box, each with its uncertainty."""
