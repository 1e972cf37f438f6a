"""evalkit: rubrics, graded reports and progress for teaching the sharpening of hairdressing shears at a distance."""

__version__ = "0.1.0"
