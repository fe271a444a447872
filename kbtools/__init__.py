"""A manual that is searched by symptom, built from an expert's YAML."""

__version__ = "0.1.0"
