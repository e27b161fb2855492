#include "journal/postgres_journal.hpp"
namespace waybourne::journal {
std::unique_ptr<Journal> open_postgres_journal(const std::string&, const PostgresOptions&) {
    throw Unavailable("this version keeps journals in SQLite only");
}
}  // namespace waybourne::journal
