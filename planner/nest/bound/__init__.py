"""How few plates could ever do: a number that no packing can beat, and what proves it.

`lower` looks at groups of beds, `argue` asks every argument and takes the strongest: areas and
limits (`count`), parts that exclude each other (`exclude`, `centre`), and weighted ground
(`waste`), which knows holes that cannot be filled and edges that cannot be covered.
"""

from planner.nest.bound.argue import Bound
from planner.nest.bound.lower import lower_bound

__all__ = ["Bound", "lower_bound"]
