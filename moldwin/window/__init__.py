"""Chance, edges, best setting, moisture target and remedies, all from the stages' margins."""
