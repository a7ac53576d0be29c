from tests.records.fixtures import address, any_journal, empty_journal, journal, new_database, postgresql

__all__ = ["address", "any_journal", "empty_journal", "journal", "new_database", "postgresql"]
