"""Running the page: data folder, certificates, servers, backup, restore, checks."""
