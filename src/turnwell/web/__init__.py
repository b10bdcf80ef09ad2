"""The Django project: pages, records, permissions."""
