"""Rain, flow and the capacity of bays, outlets, gutters and leaders, each by a named method with its edition."""
