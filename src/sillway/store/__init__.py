"""What the lot keeps: records with every revision, photos, long work, and the keys of persons.

Nothing here needs a web request. Call ``sillway.store.opening.open_store`` first, then the verbs in
``records``, ``persons``, ``photos`` and ``jobs``.
"""
