"""Pages of the rules that are enforced while files are read and typed (kbtools.source, kbtools.entries)."""

from kbtools.rules.registry import documented

documented(
    "yaml-syntax",
    """
    A content file is well-formed YAML: one document, spaces for indentation, known tags only.

    The first mistake ends the reading of a file, because everything after it would be a guess.

    Fails:

        causes:
        (a tab) worn-seal:

    Passes:

        causes:
          worn-seal:
    """,
)
documented(
    "yaml-too-many-values",
    """
    Aliases may not blow a file up beyond 100,000 values.

    A few nested aliases can stand for billions of values and stop the machine.

    Fails:

        a: &a [x, x, x]
        b: &b [*a, *a, *a]    # and so on, ten levels deep

    Passes:

        causes: [worn-seal, loose-plug]
    """,
)
documented(
    "duplicate-key",
    """
    A key stands once in a mapping.

    YAML readers keep one of the two silently; the other one's words are lost.

    Fails:

        worn-seal: {title: Seal worn}
        worn-seal: {title: Seal torn}

    Passes:

        worn-seal: {title: Seal worn or torn}
    """,
)
documented(
    "file-empty",
    """
    A content file has content.

    An empty file is usually one that was not saved.

    Fails:

        # later

    Passes:

        symptoms:
          pump-silent: {title: The pump stays silent}
    """,
)
documented(
    "file-too-large",
    """
    A content file has at most 1,000,000 bytes.

    A topic of a hundred entries has a tenth of that; a larger file is here by mistake.

    Fails:

        topics/legs/everything.yml with 50 MB

    Passes:

        topics/legs/corner-sinks.yml with 8 kB
    """,
)
documented(
    "file-unreadable",
    """
    Every content file can be read.

    A file without read permission, or a broken link, would leave a hole in the manual.

    Fails:

        chmod 000 topics/legs/corner-sinks.yml

    Passes:

        chmod 644 topics/legs/corner-sinks.yml
    """,
)
documented(
    "not-utf-8",
    """
    Content files are UTF-8 text.

    Other encodings turn degree signs and accents into wrong characters, or cannot be read at all.

    Fails:

        a file saved as Latin-1 or UTF-16

    Passes:

        the same file saved as UTF-8
    """,
)
documented(
    "not-a-mapping",
    """
    A file, a section and an entry are mappings of keys to values.

    An entry is found by its id, so the id is a key.

    Fails:

        causes:
          - worn-seal

    Passes:

        causes:
          worn-seal: {title: Seal worn}
    """,
)
documented(
    "unknown-key",
    """
    Only the keys of the content model are used.

    A misspelt key would drop what the author meant to say. The field reference lists every key.

    Fails:

        worn-seal: {titel: Seal worn}

    Passes:

        worn-seal: {title: Seal worn}
    """,
)
documented(
    "missing-key",
    """
    Every key that the content model requires is there.

    A remedy without steps, person, minutes or proof helps nobody.

    Fails:

        remedy: {who: technician, steps: [Change the seal.]}

    Passes:

        remedy: {who: technician, minutes: 40, place: beside-leg, steps: [Change the seal.], prove_by: rod-mark}
    """,
)
documented(
    "wrong-value",
    """
    Every value is of the kind and within the bounds that the content model gives for it.

    Minutes are positive and finite, words come from their list, texts are not empty. Note that YAML 1.2 reads yes and no
    as text and true and false as truth values.

    Fails:

        minutes: -5

    Passes:

        minutes: 5
    """,
)
documented(
    "id-not-kebab-case",
    """
    Ids are kebab-case: small letters and digits joined by single hyphens, a letter first.

    Ids become addresses of pages and are stable for ever.

    Fails:

        causes:
          Worn_Seal: {title: Seal worn}

    Passes:

        causes:
          worn-seal: {title: Seal worn}
    """,
)
documented(
    "id-reserved",
    """
    An id does not use a word that a trace needs for itself.

    `unlisted` stands for every cause that nobody has written down yet.

    Fails:

        causes:
          unlisted: {title: Something else}

    Passes:

        causes:
          something-else: {title: Something else}
    """,
)
documented(
    "duplicate-id",
    """
    An id is unique per kind, over all files.

    References go by id; two entries of one id cannot be told apart.

    Fails:

        # topics/legs/a.yml and topics/legs/b.yml both hold
        causes: {worn-seal: {title: Seal worn}}

    Passes:

        # only one of them does
        causes: {worn-seal: {title: Seal worn}}
    """,
)
documented(
    "manual-missing",
    """
    The content folder holds manual.yml.

    Cards and hand-overs name the organisation and its telephone number from there.

    Fails:

        content/ without manual.yml

    Passes:

        title: Service manual
        organisation: Example works
        telephone: "0000 000 000"
        revised: 2026-01-31
    """,
)
