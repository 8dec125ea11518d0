"""Joins the stages into the one answer: what to do, remarks, what to measure next."""
