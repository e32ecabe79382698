"""Sheets of the subjects: the tables and drawings that only one subject has."""
