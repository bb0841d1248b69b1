"""The command line: arguments, request, service, text or JSON."""
