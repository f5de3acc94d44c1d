"""Everything solid at the spindle against everything solid on the table."""
