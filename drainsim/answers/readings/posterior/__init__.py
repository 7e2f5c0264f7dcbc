"""What voltages teach: draws of a vehicle that agree with its readings."""
