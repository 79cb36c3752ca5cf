"""Many repair orders -> how findings are documented."""
