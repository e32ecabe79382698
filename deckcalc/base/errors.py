"""What can go wrong with a package; apart, so that naming it costs no imports."""


class PackageError(Exception):
    """Report in one message why a package could not be bound."""
