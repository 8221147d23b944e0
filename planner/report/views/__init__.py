"""View records: what a page says, made from the plan alone, before any page is drawn."""
