"""Calculations alive: forms, exercises, and pages that work without a server."""
