#pragma once
/// What the commands for planners have in common: the question that their options ask, and figures
/// in words.

#include <iosfwd>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "server/cli/commands.hpp"
#include "server/cli/interruptible.hpp"
#include "server/coverage.hpp"
#include "server/json/writer.hpp"
#include "server/words.hpp"

namespace waybourne::server {

/// Whatever every question about access holds, as members of a request.
void write_question(JsonWriter& json, const CoverageOptions& options,
                    const std::vector<std::string>& needs);
/// Files that only a person at a terminal names.
/// @throws InputError for a file that cannot be read
void add_files(CoverageRequest& request, const CoverageOptions& options, Terminal& terminal);

/// @throws InputError
CoverageRequest request_of(const CoverageOptions& options, const std::vector<std::string>& needs,
                           Terminal& terminal);
/// For what asks about every kind of care.
CoverageRequest request_of_any(const CoverageOptions& options, Terminal& terminal);
UpgradeRequest upgrade_request_of(const CoverageOptions& options, Terminal& terminal);
/// @throws InputError for a month that is none and a bad file
IndicatorRequest indicator_request_of(const CoverageOptions& options, Terminal& terminal);

/// What a command answers from.
struct Asked {
    /// The first Ctrl-C stops the work, and ends the program as soon as this goes.
    std::unique_ptr<Interruptible> interruptible;
    Instant now{};
    std::shared_ptr<const Snapshot> snapshot;
    coverage::Work work;
    Words words() const { return {snapshot->catalogue, snapshot->zone, now}; }
};

/// @throws InputError as `snapshot_of` does
Asked asked(const CoverageOptions& options, Terminal& terminal);

/// `write(json)` as a person reads it.
template <typename Write>
std::string json_of(const Write& write) {
    JsonWriter json{2};
    write(json);
    return json.take() + '\n';
}

/// @throws InputError where two forms are asked for at once
void check_format(const CoverageOptions& options);
/// A new file, whole or not at all. @throws Unavailable
void write_new_file(const std::string& path, const std::string& content);

/// A number as it was typed: what it may be, the request's reader says. @throws InputError
double number_of(const std::string& text, const std::string& option);

/// `12.3 %`, or a dash where it is not known.
std::string percent(const std::optional<double>& share);
/// Whole.
std::string number(double births);
/// `a, b, c`
std::string joined(const std::vector<std::string>& texts);
std::string needs_words(triage::CapabilitySet needed, const Words& words);

/// What was asked.
void print_heading(const CoverageRequest& request, Instant leave_at, const Words& words,
                   std::ostream& out);
/// That, and births in each class.
void print_total(const CoverageRequest& request, const CoverageAnswer& answer, const Words& words,
                 std::ostream& out);
/// The first ten, by the text `id` with their name and births.
void print_names(const std::vector<coverage::Settlement>& all,
                 const std::vector<std::size_t>& settlements, const char* id, const Words& words,
                 std::ostream& out);

}  // namespace waybourne::server
