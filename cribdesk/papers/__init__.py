"""Everything printed, by reportlab and python-barcode."""
