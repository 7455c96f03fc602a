"""Sets Coatwright up in this folder and starts it. Needs Python 3.11 or later and nothing else.

python3 start.py                   set up, then open the desk with a demo salon
python3 start.py --port 8100       the same; options go to `coatwright desk`
python3 start.py test [OPTIONS]    set up, then run every check and test; options go to pytest
python3 start.py bench [OPTIONS]   set up, then run the benchmarks

Everything made here lies in the folder .coatwright; delete it to start afresh.
"""

import platform
import sys

if sys.version_info < (3, 11):  # noqa: UP036 - this file is read by whatever Python there is
    sys.exit("Coatwright needs Python 3.11 or later, and this is Python " + platform.python_version() + ".")

from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))

from tools.starting.commands import main

if __name__ == "__main__":
    sys.exit(main(sys.argv[1:], __doc__.strip()))
