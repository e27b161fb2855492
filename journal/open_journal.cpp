#include "journal/open_journal.hpp"

#include "journal/postgres_journal.hpp"
#include "journal/sqlite_journal.hpp"

namespace waybourne::journal {

bool is_postgres(const std::string& address) {
    return address.rfind("postgresql://", 0) == 0 || address.rfind("postgres://", 0) == 0;
}

std::unique_ptr<Journal> open_journal(const std::string& address, Access access) {
    if (is_postgres(address)) {
        PostgresOptions options;
        options.read_only = access == Access::read;
        return open_postgres_journal(address, options);
    }
    SqliteOptions options;
    options.read_only = access == Access::read;
    return open_sqlite_journal(address, options);
}

std::string without_password(const std::string& address) {
    if (!is_postgres(address)) {
        return address;
    }
    // what stands after the ? may hold a password, too
    std::string shown = address.substr(0, address.find('?'));
    const std::size_t begin = shown.find("//") + 2;
    const std::size_t at = shown.find_last_of('@');
    const std::size_t colon = shown.find(':', begin);
    if (at != std::string::npos && colon != std::string::npos && colon < at) {
        shown.erase(colon, at - colon);
    }
    return shown;
}

}  // namespace waybourne::journal
