"""What the maker's own trials teach: kept safe on disk, read back for fitting and planning."""

__all__: list[str] = []
