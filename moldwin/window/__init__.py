"""Chance of success, edges, best setting, moisture target, remedies: all from the stages' margins."""
