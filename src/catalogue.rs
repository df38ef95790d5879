//! Profiles, gauges, finishes, grades and mixes.
