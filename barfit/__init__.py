"""barfit: will the control lines of a motorcycle still reach with other handlebars?"""

__version__ = "0.1.0"
