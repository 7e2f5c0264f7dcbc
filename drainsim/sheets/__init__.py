"""Results as files a person keeps: printable pages, spreadsheets, calendars."""
