"""Intake: files into records, or every fault found with row and column."""
