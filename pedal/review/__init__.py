"""The log as a review: chosen notes, their figures and advice, written as tables, data, a page or pictures."""
