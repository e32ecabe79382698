"""The core, which knows nobody: units, tables, sources, arguments and ranges, declared calculations, checks."""
