"""The one place that knows every app: settings, routes, queue, embedded server, commands."""
