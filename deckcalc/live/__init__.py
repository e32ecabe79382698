"""Calculations alive in a page without a server: a form, and the hand calculation beside it, from the one declaration."""
