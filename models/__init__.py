"""Casting science and mould profiles: numbers in, numbers out; no device, clock, network or database."""
