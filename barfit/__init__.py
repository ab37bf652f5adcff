"""barfit: will the control lines of a motorcycle still reach with other handlebars?"""

import os

__version__ = "0.1.0"

# Our matrices are small: a second thread of the algebra library only waits for work, which took as
# much of the other core as a fifth of a search for remedies. Read when numpy is first imported.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
