"""Tests of what voltage readings say."""
