"""PDF pages from the views that the HTML pages use too; nothing is computed here."""
