"""What is said when a result cannot be read, written or continued."""


class ResultError(Exception):
    """A result file or a request that cannot be met; str() is a sentence for a person."""
