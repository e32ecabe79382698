"""How calculations are shown: set as mathematics, written out by hand, proved, drawn, asked for in a form."""
