#pragma once
/// The commands and what each takes. An option that was not given is empty.

#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "server/cli/terminal.hpp"
#include "server/json/writer.hpp"
#include "server/snapshot.hpp"
#include "vocabulary/progress.hpp"

namespace waybourne::server {

/// What every command takes that answers from a district.
struct DistrictOptions {
    std::string district;  ///< empty: the sample that comes with the program
    std::string now;       ///< RFC 3339; empty: the machine's clock
    std::string engine = "automatic";
    std::string language;  ///< empty: the district's
    bool json = false;
};

struct ServeOptions {
    DistrictOptions common;
    std::string host = "127.0.0.1";
    std::string pack_key;  ///< the key for packs; empty: beside the journal file
    std::string journal;   ///< an SQLite file or `postgresql://…`; empty: none is kept
    int port = 8080;
    std::string keys;             ///< the keys file; empty: nobody needs a key
    std::string messages;         ///< the messages file; empty: no text messages
    std::string tls_certificate;  ///< PEM, with its chain; empty: without TLS
    std::string tls_key;
    std::string link_base;     ///< of the links on printed notes; empty: none
    bool is_practice = false;  ///< everybody practises
    bool allow_remote_without_keys = false;
    bool allow_remote_without_tls = false;
};

struct PackOptions {
    DistrictOptions common;
    std::string key;  ///< the server's key for packs, made when it is not there
    std::string output;
};

struct AskOptions {
    DistrictOptions common;
    std::string file;  ///< a request as JSON; `-`: standard input
    bool is_interactive = false;
    std::string from;
    std::string at;
    std::string pressure;
    std::optional<int> pulse;
    std::string taken_at;
    std::vector<std::string> findings;  ///< `field=value`
    std::vector<std::string> available_here;
    std::string means;
    std::optional<int> ready_in;
    std::string surface;
    std::string light;
    bool cannot_phone = false;
    std::vector<std::string> calls;  ///< `id=accepted`
    bool is_practice = false;

    /// Nothing about her was given.
    bool is_empty() const {
        return file.empty() && at.empty() && pressure.empty() && !pulse && findings.empty();
    }
};

struct RouteOptions {
    DistrictOptions common;
    std::string from;
    std::string to;
    std::string means;
    std::string leave_at;
    std::string surface;
    std::string light;
};

struct AlternativesOptions {
    RouteOptions way;
    std::vector<std::string> closed;  ///< a road's name, or the number of a way on the map
    std::optional<int> most_others;
};

struct ReachOptions {
    DistrictOptions common;
    std::string place;
    int within_minutes = 0;
    bool is_to = false;     ///< from where the place is reached
    std::string judged_by;  ///< `typical` or `allow`
    std::string means;
    std::string leave_at;
    std::string surface;
    std::string light;
};

struct PlacesOptions {
    DistrictOptions common;
    std::string capability;
    std::string from;
    std::string means;
    std::string surface;
    std::string light;
};

/// How and when one travels, as the command line takes it; empty: as the answer's default is.
struct TravelOptions {
    std::string means;
    std::string leave_at;
    std::string surface;
    std::string light;
};

struct CoverageOptions {
    DistrictOptions common;
    std::vector<std::string> needs;
    int within = 120;  ///< minutes
    std::string readiness = "as_registered";
    std::string transport = "at_hand";
    TravelOptions travel;
    std::string settlements;  ///< a file; empty: the district's
    std::string areas;        ///< a file of sub-districts
    std::optional<double> births_per_1000;
    std::string capacities;  ///< CSV: facility,births_per_year
    bool csv = false;
    bool geojson = false;

    // where many share little
    std::string catchment = "two_step";
    std::vector<std::string> zones;  ///< `MINUTES=WEIGHT`; empty: those of the district

    // the best upgrades
    std::string objective = "covering";
    std::optional<int> count;
    std::optional<double> budget;
    std::vector<double> phases;  ///< a budget for each year
    int years = 1;
    bool is_robust = false;
    std::string costs;  ///< CSV: facility,cost

    // what-if, in the form `what=value`
    std::string scenarios;  ///< a file: a JSON list of scenarios
    std::string name = "what if";
    std::vector<std::string> services;
    std::vector<std::string> hours;
    std::vector<std::string> facilities;
    std::vector<std::string> waiting_homes;
    std::vector<std::string> vehicle_posts;
    std::vector<std::string> new_bridges;
    std::vector<std::string> bridged;
    std::vector<std::string> paved;
    std::vector<std::string> closed;
    std::string save;       ///< a new file
    std::string show;       ///< a file that was saved
    bool is_again = false;  ///< with `show`: from the recorded inputs

    // indicators
    std::string months;  ///< CSV
    std::string last_month;
    std::string profile;  ///< a file; empty: the UN set of 2009
    std::optional<double> population;
    std::optional<double> functioning;
    std::optional<double> functioning_comprehensive;

    std::string offer;  ///< other speeds: a new file; of `accept-speeds` one that was written so
    std::string by;
    std::string why;

    std::string output;   ///< of the report or the speed table: a new file
    std::string journal;  ///< an SQLite file, or `postgresql://…`
};

struct ImportOptionsGiven {
    std::string file;
    std::string kind;  ///< `roads` or `facilities`; empty: by the file's name
    std::string output;
    std::string draft_register;  ///< where to write the map's places of care
    std::string rivers;          ///< where to write the map's rivers
    std::string time_zone = "Etc/UTC";
    bool leave_out_bad_rows = false;
    bool make_ids = false;
    std::vector<std::string> columns;
    std::vector<std::string> defaults;
    std::vector<std::string> ignored_columns;
    bool json = false;
};

struct ProtocolCheckOptions {
    std::string file;
    std::string texts;
    bool json = false;
};

struct JournalOptions {
    std::string store;  ///< an SQLite file, or `postgresql://…`
    std::string file;   ///< what is written or read; `-`: standard output or input
    std::string head;   ///< `SEQUENCE:HASH`, known from elsewhere
    int case_days = 30;
    int read_days = 730;
    bool only_plan = false;  ///< say what would be erased
    std::string now;         ///< RFC 3339; empty: the machine's clock
    bool json = false;
};

struct ReplayOptions {
    DistrictOptions common;
    std::string journal;
    std::string code;
    std::optional<std::int64_t> entry;  ///< none: every recommendation of the case
    bool with_today = false;
};

struct NoteOptions {
    DistrictOptions common;
    std::string journal;
    std::string code;
    std::string output;  ///< a new file
    std::string link_base;
};

struct KeysOptions {
    std::string file;
    std::string account;  ///< `remove`: an id too
    std::string role;
    std::vector<std::string> facilities;
    std::string number;    ///< of a plain phone
    std::string language;  ///< of a plain phone; empty: the district's
    bool practice = false;
    bool json = false;
};

/// Each returns the program's exit code: 0 done; 2 the input is at fault. What cannot be done is
/// thrown.
int run_serve(const ServeOptions& options, Terminal& terminal);
int run_ask(const AskOptions& options, Terminal& terminal);
int run_route(const RouteOptions& options, Terminal& terminal);
int run_alternatives(const AlternativesOptions& options, Terminal& terminal);
int run_reach(const ReachOptions& options, Terminal& terminal);
int run_places(const PlacesOptions& options, Terminal& terminal);
/// Who reaches care in time, and the best places to raise.
int run_coverage_access(const CoverageOptions& options, Terminal& terminal);
int run_coverage_competition(const CoverageOptions& options, Terminal& terminal);
int run_coverage_upgrades(const CoverageOptions& options, Terminal& terminal);
int run_coverage_what_if(const CoverageOptions& options, Terminal& terminal);
int run_coverage_links(const CoverageOptions& options, Terminal& terminal);
int run_coverage_indicators(const CoverageOptions& options, Terminal& terminal);
/// What must be known of the figures, and all kinds of care by season and hour.
int run_coverage_trust(const CoverageOptions& options, Terminal& terminal);
int run_coverage_overview(const CoverageOptions& options, Terminal& terminal);
int run_coverage_losses(const CoverageOptions& options, Terminal& terminal);
int run_coverage_journeys(const CoverageOptions& options, Terminal& terminal);
/// The headline, were travel times or births otherwise than they are taken to be.
int run_coverage_sensitivity(const CoverageOptions& options, Terminal& terminal);
int run_coverage_accept_speeds(const CoverageOptions& options, Terminal& terminal);
int run_coverage_report(const CoverageOptions& options, Terminal& terminal);
int run_pack(const PackOptions& options, Terminal& terminal);
/// Whether the file is roads and not facilities, as `kind` or else its name says.
/// @throws InputError where neither does
bool is_roads(const ImportOptionsGiven& options);
int run_import(const ImportOptionsGiven& options, Terminal& terminal);
int run_protocol_check(const ProtocolCheckOptions& options, Terminal& terminal);
/// 1 when the journal is damaged.
int run_journal_verify(const JournalOptions& options, Terminal& terminal);
int run_journal_export(const JournalOptions& options, Terminal& terminal);
int run_journal_restore(const JournalOptions& options, Terminal& terminal);
int run_journal_backup(const JournalOptions& options, Terminal& terminal);
/// Erases personal data whose time is over, then verifies the chain; 1 when that fails.
int run_journal_redact(const JournalOptions& options, Terminal& terminal);

/// 1 when a recommendation comes out otherwise.
int run_replay(const ReplayOptions& options, Terminal& terminal);

int run_note(const NoteOptions& options, Terminal& terminal);

int run_keys_add(const KeysOptions& options, Terminal& terminal);
int run_keys_list(const KeysOptions& options, Terminal& terminal);
int run_keys_remove(const KeysOptions& options, Terminal& terminal);
/// Plain phones that may act by text message.
int run_numbers_add(const KeysOptions& options, Terminal& terminal);
int run_numbers_list(const KeysOptions& options, Terminal& terminal);
int run_numbers_remove(const KeysOptions& options, Terminal& terminal);

/// Reads the command line and runs what it says. Errors are one line on `terminal.err`.
/// @return 0 done; 1 we failed; 2 the input is at fault
int run_command_line(int count, const char* const* values, Terminal& terminal);

// --- what the commands share

/// The text of a file the user names; `-`: standard input.
/// @throws InputError when it cannot be read
std::string text_of(const std::string& file, Terminal& terminal);

/// Shown to a person who waits; empty where nobody does.
Progress progress_of(Terminal& terminal);

/// The moment the options say, or the machine's.
/// @throws InputError
Instant moment_of(const DistrictOptions& options);

std::shared_ptr<const Snapshot> snapshot_of(const DistrictOptions& options, Instant now);

/// A facility's id, or `latitude,longitude`, as JSON: `{"facility": …}` or `{"latitude": …}`.
std::string place_json(const std::string& text);

/// `wet` and `night`, either may be empty, as JSON; empty when both are.
/// @throws InputError when only one is given
std::string conditions_json(const std::string& surface, const std::string& light);

/// Members of a request's object.
/// @throws InputError as `conditions_json`
void write_travel_members(JsonWriter& json, const TravelOptions& options);
void write_way_members(JsonWriter& json, const RouteOptions& options);

/// A road as a request names it: a whole number is the number of a way on the map, anything else a
/// road's name.
void write_where(JsonWriter& json, const std::string& road);

/// Splits `name=value`.
/// @throws InputError
std::pair<std::string, std::string> name_and_value(const std::string& text,
                                                   const std::string& option);

}  // namespace waybourne::server
