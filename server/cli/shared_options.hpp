#pragma once
/// Options that several commands take.

#include <initializer_list>
#include <string>
#include <string_view>

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

/// Nothing that was typed is passed over in silence.
/// @param whole what was given and leaves room for nothing else, in words
/// @param counting the options that count nevertheless, as the command names them
/// @throws InputError naming every other option that was given
void refuse_beside(const CLI::App& command, std::string_view whole,
                   std::initializer_list<std::string_view> counting);

}  // namespace waybourne::server
