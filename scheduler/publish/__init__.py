"""The current timetable for other programs: JSON, iCalendar, MQTT; advice only, no valve is opened."""
