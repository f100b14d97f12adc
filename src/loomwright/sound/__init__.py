"""The sound path: what the amplifier sees, what the driver gets."""
