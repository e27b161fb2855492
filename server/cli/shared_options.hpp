#pragma once
/// Options that several commands take.

#include <string>

#include "server/cli/commands.hpp"

// The library's own name.
namespace CLI {  // NOLINT(readability-identifier-naming)
class App;
}

namespace waybourne::server {

/// The district, the moment, the language, and whether the answer is JSON.
void add_common(CLI::App& command, DistrictOptions& options);
/// `--language`, one of those that there are catalogues of.
void add_language(CLI::App& command, std::string& language, const std::string& description);
/// The season and the hour of the roads.
void add_conditions(CLI::App& command, std::string& surface, std::string& light);
/// How and when one travels.
void add_travel(CLI::App& command, std::string& means, std::string& leave_at);
/// The journal that is read, as the first argument.
void add_journal_file(CLI::App& command, std::string& journal);
/// `--link-base`: where QR codes lead.
void add_link_base(CLI::App& command, std::string& link_base, const std::string& description);

}  // namespace waybourne::server
