"""Tests of the plans."""
