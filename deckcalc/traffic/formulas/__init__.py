"""Declared calculations and algorithms of this subject; they know the core alone."""
