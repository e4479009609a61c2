"""The fault bench: what is promised, under kills, a hostile messenger, machine and person.

``python -m tests.faults`` runs its short form, ``--long`` the full one.
"""
