"""Results as files a person keeps: printable pages, PDF, spreadsheets, calendars."""
