"""Years of notes at once: rows of notes in, Parquet parts of orders out, on all cores or on a Dask cluster."""
