"""What a series of currents says: steps, stages, pulses, the settled value."""
