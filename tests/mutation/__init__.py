"""The source changed on purpose, one small change at a time, to see which change no test notices."""
