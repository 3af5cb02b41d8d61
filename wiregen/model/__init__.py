"""One job as frozen data: `read`."""

from wiregen.model.read import read

__all__ = ["read"]
