"""The daily job: weather in, timetable out, notices where a person should act; once, or day after day."""
