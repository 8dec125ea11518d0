"""Ranges, remarks, distributions, draws and percentiles: what every other room stands on."""
