"""The one family of errors that a person can cause and can mend."""


class Mistake(Exception):
    """Something in the input is wrong and a person can put it right.

    Args:
        what: what is wrong, in a few plain words.
        where: the file, option or field it stands in; may be empty.
        do: what to do instead; may be empty only when `what` says it.

    The text is always one line: ``where: what; do``.
    """

    def __init__(self, what: str, *, where: str = "", do: str = "") -> None:
        self.what, self.where, self.do = what, where, do
        line = f"{where}: {what}" if where else what
        super().__init__(" ".join((f"{line}; {do}" if do else line).split()))
