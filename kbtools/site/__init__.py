"""The manual as pages. Only this package knows MkDocs, and of it only plugin.py, config.py and serve.py."""
