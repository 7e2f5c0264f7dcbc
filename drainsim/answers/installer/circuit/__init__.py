"""Which circuit may carry the unit, with which wire and fuse."""
