"""The profiles on the shelf by their titles, for lists to choose from."""

from __future__ import annotations

from glasswork.cli import shelf as profiles


def titled(kind: str, now: str) -> dict[str, str]:
    """Names on the shelf with their titles, and the one in use."""
    import tomllib

    found = {}
    for name in profiles.names(kind):
        facts = tomllib.loads(profiles.find(kind, name).read_text("utf-8"))
        title = str(facts.get("title", name))
        told = facts.get("invented") and "(invented)" not in title
        found[name] = f"{title} (invented)" if told else title
    if now not in found:
        found[now] = now.rsplit("/", 1)[-1].removesuffix(".toml")
    return found
