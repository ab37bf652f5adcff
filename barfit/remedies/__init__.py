"""What can be done about each line that does not fit, computed and ranked."""

from barfit.remedies.remedy import Means, Remedies, Remedy

__all__ = ["Means", "Remedies", "Remedy"]
