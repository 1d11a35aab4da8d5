"""The account as it was sealed at the hand-back."""

import json
from functools import lru_cache

from lostgallon.shop.account import Account
from lostgallon.shop.wire import record_from
from lostgallon.store.records import Seal


@lru_cache(maxsize=64)
def sealed_account(seal: Seal) -> Account | None:
    """The account of a seal; None where another version of the program wrote one that this one can't read."""
    try:
        account: Account = record_from(Account, json.loads(seal.account_json))
    except (ValueError, KeyError, TypeError):
        return None
    return account
