"""A new price list for many jobs at once: lists compared, jobs priced again, workbooks and a report written."""
