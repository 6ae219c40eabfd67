"""Everything is killed at random moments under load, and afterwards nothing may be lost or doubled.

``python -m tests.faults`` runs an installation of its own (embedded server, ``manage.py serve``), lets several
programs and a signed-in browser work in it over HTTP, kills its processes with SIGKILL, and then compares what was
acknowledged with what is there. It needs no network but the loopback and ends by itself.
"""
