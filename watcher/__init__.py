"""Tipbell's eyes, memory and voice: from a camera frame to a call to the caster."""

__version__ = "0.1.0"
