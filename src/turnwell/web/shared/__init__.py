"""What several apps share: entries, components, the wiring of pages."""
