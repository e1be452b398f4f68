"""What other programs copy: changes since a cursor, and exports for download."""
