#include "server/cli/shared_options.hpp"

#include <CLI/CLI.hpp>
#include <algorithm>

#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

/// A web address without a query or a fragment, short enough for a QR code that prints small.
const CLI::Validator is_link_base{
    [](const std::string& text) -> std::string {
        constexpr std::size_t longest = 80;
        const bool is_web = text.starts_with("https://") || text.starts_with("http://");
        if (is_web && text.size() <= longest &&
            text.find_first_of("?# \"<>") == std::string::npos) {
            return {};
        }
        return "must be a web address of at most 80 characters without ? and #";
    },
    "ADDRESS"};

}  // namespace

void add_common(CLI::App& command, DistrictOptions& options) {
    command.add_option("--district", options.district,
                       "Folder with district.json and manifest.json (default: the sample)");
    command.add_option("--now", options.now,
                       "Answer as if it were this moment, e.g. 2026-03-04T09:40:00Z");
    command
        .add_option("--engine", options.engine,
                    "What finds the ways: automatic (by the size of the map), reference or "
                    "hierarchy; the answers are the same")
        ->check(CLI::IsMember({"automatic", "reference", "hierarchy"}))
        ->capture_default_str();
    add_language(command, options.language,
                 "Of the sentences: en, fr or sw (default: the district's)");
    command.add_flag("--json", options.json, "Answer as JSON, as the HTTP API does");
}

void add_language(CLI::App& command, std::string& language, const std::string& description) {
    command.add_option("--language", language, description)
        ->check(CLI::IsMember(
            std::vector<std::string>{catalogue_languages.begin(), catalogue_languages.end()}));
}

void add_conditions(CLI::App& command, std::string& surface, std::string& light) {
    command.add_option("--surface", surface, "dry or wet (default: by the season)");
    command.add_option("--light", light, "day or night (default: by the clock)");
}

void add_travel(CLI::App& command, std::string& means, std::string& leave_at) {
    command.add_option("--means", means, "on_foot, motorcycle, car (default) or four_wheel_drive");
    command.add_option("--leave-at", leave_at, "RFC 3339 (default: now)");
}

void add_journal_file(CLI::App& command, std::string& journal) {
    command.add_option("journal", journal, "The journal: an SQLite file, or postgresql://…")
        ->required();
}

void add_link_base(CLI::App& command, std::string& link_base, const std::string& description) {
    command.add_option("--link-base", link_base, description)->check(is_link_base);
}

void refuse_beside(const CLI::App& command, std::string_view whole,
                   std::initializer_list<std::string_view> counting) {
    std::string others;
    for (const CLI::Option* option : command.get_options()) {
        const std::string name = option->get_name();
        if (option->count() > 0 &&
            std::find(counting.begin(), counting.end(), name) == counting.end()) {
            others += (others.empty() ? "" : ", ") + name;
        }
    }
    if (!others.empty()) {
        throw InputError(std::string(whole) + ": leave out " + others);
    }
}

}  // namespace waybourne::server
