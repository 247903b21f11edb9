//! Benchmarks of Withy will live here; none is written yet.
