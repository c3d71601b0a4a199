"""Before any plugin is loaded: what the tests never ask for is not built at their start.

The notebooks' format is checked by a library that, when it finds this grammar of web addresses, compiles it
38 times as it is imported: several seconds, for a kind of address that no notebook of ours holds. It takes
the grammar's absence in its stride.
"""

import sys

sys.modules.setdefault("rfc3987_syntax", None)  # type: ignore[arg-type]
