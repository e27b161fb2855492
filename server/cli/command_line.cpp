#include <CLI/CLI.hpp>
#include <algorithm>
#include <map>
#include <ostream>

#include "server/cli/commands.hpp"
#include "server/cli/coverage_options.hpp"
#include "server/cli/dispatch.hpp"
#include "server/cli/shared_options.hpp"
#include "server/cli/shifts.hpp"
#include "server/cli/simulate.hpp"
#include "server/problem.hpp"

namespace waybourne::server {

namespace {

constexpr const char* about =
    "Waybourne: where to send a woman in an obstetric emergency, and how.\n"
    "Draft rules, not clinically approved: for training and trial. The sample district is "
    "invented.";

/// All options, each command's filled in when it is the one that was called.
struct Options {
    ServeOptions serve;
    AskOptions ask;
    RouteOptions route;
    AlternativesOptions alternatives;
    ReachOptions reach;
    DispatchOptions dispatch;
    ShiftsOptions shifts;
    SimulateOptions simulate;
    PlacesOptions places;
    CoverageOptions coverage;
    PackOptions pack;
    ImportOptionsGiven import;
    ProtocolCheckOptions protocol_check;
    JournalOptions journal;
    ReplayOptions replay;
    NoteOptions note;
    KeysOptions keys;
    KeysOptions numbers;
};

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

void add_serve(CLI::App& app, ServeOptions& options) {
    CLI::App* command = app.add_subcommand("serve", "Serve the HTTP API until stopped");
    add_common(*command, options.common);
    command->add_option("--host", options.host, "Address to listen on")->capture_default_str();
    command->add_option("--port", options.port, "Port; 0 takes any free one")
        ->check(CLI::Range(0, 65535))
        ->capture_default_str();
    command
        ->add_option("--journal", options.journal,
                     "Where referrals and reports are kept: an SQLite file, made when it is not "
                     "there, or postgresql://… (default: none are taken)")
        ->multi_option_policy(CLI::MultiOptionPolicy::TakeLast);
    command->add_option("--pack-key", options.pack_key,
                        "The key that signs what phones take with them, made when it is not there "
                        "(default: beside the journal file; without one a new key at each start)");
    command->add_option("--keys", options.keys,
                        "Ask everybody for a key of this file (waybourne keys)");
    command->add_option("--messages", options.messages,
                        "Send and take text messages through the gateway of this private file "
                        "(docs/howto/text-messages.md); needs --journal and --keys");
    command->add_flag("--practice", options.is_practice,
                      "Everybody practises: all cases are practice cases, nobody outside is told");
    command->add_flag("--allow-remote-without-keys", options.allow_remote_without_keys,
                      "Listen on an address that others can reach, although nobody needs a key");
    command->add_option("--tls-certificate", options.tls_certificate,
                        "Certificate with its chain, PEM (docs/howto/certificates.md)");
    command->add_option("--tls-key", options.tls_key, "Its key, PEM, without a passphrase");
    command->add_flag("--allow-remote-without-tls", options.allow_remote_without_tls,
                      "Listen on an address that others can reach, although whoever is on the way "
                      "reads keys and what women told");
    command
        ->add_option("--link-base", options.link_base,
                     "Where the QR code of printed notes leads, e.g. https://district.example")
        ->check(is_link_base);
    command->footer("Example:\n  waybourne serve --port 9000\n  curl http://127.0.0.1:9000/readyz");
}

void add_ask(CLI::App& app, AskOptions& options) {
    CLI::App* command = app.add_subcommand(
        "ask", "Where to send her: question by question, or at once from flags or a JSON request");
    add_common(*command, options.common);
    command->add_option(
        "request", options.file,
        "A JSON request as POST /v1/recommendations takes it; - for standard input");
    command->add_flag("--interactive", options.is_interactive,
                      "Ask question by question (the default on a terminal when nothing is given)");
    command->add_option("--from", options.from, "Where she is: a facility's id, or LAT,LON");
    command->add_option("--at", options.at, "When the findings were complete (default: now)");
    command->add_option("--pressure", options.pressure, "Blood pressure in mmHg, e.g. 165/112");
    command->add_option("--pulse", options.pulse, "Pulse in beats a minute");
    command->add_option("--taken-at", options.taken_at, "When these were taken (default: now)");
    command->add_option("--set", options.findings, "A finding, field=value; again for each");
    command->add_option("--here", options.available_here,
                        "A capability that the clinic can give now; again for each");
    command->add_option("--means", options.means,
                        "What carries her: on_foot, motorcycle, car or four_wheel_drive");
    command->add_option("--ready-in", options.ready_in, "Minutes until she can leave");
    add_conditions(*command, options.surface, options.light);
    command->add_flag("--cannot-phone", options.cannot_phone, "Nobody can phone from here");
    command->add_flag("--practice", options.is_practice, "Mark the answer as practice");
    command->add_option("--call", options.calls,
                        "What a call brought, id=accepted, id=refused or id=no_answer");
    command->footer(
        "Examples:\n  waybourne ask\n"
        "  waybourne ask --from kezhiru-clinic --pressure 165/112 --pulse 96 \\\n"
        "      --set status=pregnant --set gestation_weeks=34 --set severe_headache=yes\n"
        "  waybourne ask request.json --json");
}

void add_way(CLI::App& command, RouteOptions& options) {
    add_common(command, options.common);
    command.add_option("from", options.from, "A facility's id, or LAT,LON")->required();
    command.add_option("to", options.to, "A facility's id, or LAT,LON")->required();
    add_travel(command, options.means, options.leave_at);
    add_conditions(command, options.surface, options.light);
}

void add_alternatives(CLI::App& app, AlternativesOptions& options) {
    CLI::App* command = app.add_subcommand(
        "alternatives", "The best way and the others worth knowing, also round closed roads");
    add_way(*command, options.way);
    command->add_option("--closed", options.closed,
                        "Take this road as closed: its name, or the number of the way on the map; "
                        "again for each");
    command->add_option("--most-others", options.most_others, "Besides the best (default: 2)");
    command->footer(
        "Example:\n  waybourne alternatives luzhenni-clinic sorvrith-hospital "
        "--closed \"Orchard road\"");
}

void add_reach(CLI::App& app, ReachOptions& options) {
    CLI::App* command = app.add_subcommand(
        "reach", "What lies within a time of a place, or from where the place is reached");
    add_common(*command, options.common);
    command->add_option("place", options.place, "A facility's id, or LAT,LON")->required();
    command->add_option("--within", options.within_minutes, "Minutes, 1 to 1440")->required();
    command->add_flag("--to", options.is_to, "From where the place is reached");
    command->add_option("--judged-by", options.judged_by,
                        "typical (default), or allow: the time that nine of ten trips keep");
    add_travel(*command, options.means, options.leave_at);
    add_conditions(*command, options.surface, options.light);
    command->footer("Example:\n  waybourne reach sorvrith-hospital --within 60 --to");
}

void add_dispatch(CLI::App& app, DispatchOptions& options) {
    CLI::App* command = app.add_subcommand(
        "dispatch", "Who carries whom: one plan for one or several open referrals");
    add_common(*command, options.common);
    command->add_option("file", options.file, "The request as JSON; - for standard input")
        ->required();
    command->footer("Example:\n  waybourne dispatch referrals.json --now 2026-03-04T09:40:00Z");
}

void add_shifts(CLI::App& app, ShiftsOptions& options) {
    CLI::App* command = app.add_subcommand(
        "shifts", "Shift handovers of dispatchers, or one with the list that was signed");
    add_common(*command, options.common);
    command
        ->add_option("journal", options.journal, "The journal: an SQLite file, or postgresql://…")
        ->required();
    command->add_option("id", options.id, "One of them (default: all, the newest first)");
    command->footer("Example:\n  waybourne shifts journal.db");
}

void add_simulate(CLI::App& app, SimulateOptions& options) {
    CLI::App* command = app.add_subcommand(
        "simulate", "The district for a year: who would be in time, under one policy or several");
    add_common(*command, options.common);
    command->add_option("--days", options.days, "How long, from --now on")
        ->check(CLI::Range(1, 3660))
        ->capture_default_str();
    command->add_option("--seed", options.seed, "The same seed, the same year")
        ->capture_default_str();
    command
        ->add_option("--policy", options.policies,
                     "one_plan (default), each_by_itself, nearest_free; may be repeated: the "
                     "others are compared with the first")
        ->delimiter(',');
    command
        ->add_option("--births-per-year", options.births_per_year,
                     "In the whole district (default: what the settlements say)")
        ->check(CLI::Range(1.0, 1e7));
    command
        ->add_option("--complications-per-1000", options.complications_per_1000,
                     "Of 1000 births (default: 150, WHO 1994)")
        ->check(CLI::Range(0.0, 1000.0));
    command->add_option("--settlements", options.settlements,
                        "A file of settlements (default: the district's)");
    command->add_option("--births-per-1000", options.births_per_1000,
                        "For settlements with a population only");
    command->add_option("--vehicles", options.vehicles,
                        "A file of vehicles (default: the district's)");
    command->add_flag("--nobody-phones", options.nobody_phones,
                      "Whether a place is ready turns out when she is there");
    command->add_flag("--places-never-fail", options.places_never_fail,
                      "Every place is ready whenever it may be");
    command
        ->add_option("--own-transport", options.own_transport,
                     "Share of women with something at hand (no published rate: 0)")
        ->check(CLI::Range(0.0, 1.0));
    command->add_option("--own-means", options.own_means, "What is at hand")
        ->check(CLI::IsMember({"on_foot", "motorcycle", "car", "four_wheel_drive"}))
        ->capture_default_str();
    command
        ->add_option("--does-not-start", options.does_not_start,
                     "Share of calls at which a vehicle does not start (no published rate: 0)")
        ->check(CLI::Range(0.0, 1.0));
    command->footer(
        "Example:\n  waybourne simulate --births-per-year 20000 --policy one_plan,nearest_free");
}

void add_route(CLI::App& app, RouteOptions& options) {
    CLI::App* command = app.add_subcommand("route", "The way between two places");
    add_way(*command, options);
    command->footer(
        "Example:\n  waybourne route kezhiru-clinic sorvrith-hospital --surface wet "
        "--light day");
}

void add_places(CLI::App& app, PlacesOptions& options) {
    CLI::App* command =
        app.add_subcommand("places", "Who can give it: how far, ready when, and why not");
    add_common(*command, options.common);
    command->add_option("capability", options.capability, "e.g. operative_delivery")->required();
    command->add_option("--from", options.from, "A facility's id, or LAT,LON")->required();
    command->add_option("--means", options.means,
                        "on_foot, motorcycle, car (default) or four_wheel_drive");
    add_conditions(*command, options.surface, options.light);
    command->footer("Example:\n  waybourne places blood_transfusion --from kezhiru-clinic");
}

void add_pack(CLI::App& app, PackOptions& options) {
    CLI::App* command =
        app.add_subcommand("pack", "Write what a phone needs to answer without a connection");
    add_common(*command, options.common);
    command
        ->add_option("--key", options.key,
                     "The key that signs it, as serve --pack-key has it; made when it is not there")
        ->required();
    command->add_option("--output", options.output, "The pack: one file")->required();
    command->footer("Example:\n  waybourne pack --key pack.key --output district.pack");
}

void add_import(CLI::App& app, ImportOptionsGiven& options) {
    CLI::App* command = app.add_subcommand(
        "import", "Read roads (.osm, .osm.pbf) or facilities (.geojson, .csv) and report on them");
    command->add_option("file", options.file, "What to read")->required();
    command->add_option("--kind", options.kind, "roads or facilities (default: by the name)")
        ->check(CLI::IsMember({"roads", "facilities"}));
    command->add_option("--output", options.output,
                        "Write the prepared map (.roads) or register (.geojson) here; without it "
                        "the file is only checked");
    command->add_option("--draft-register", options.draft_register,
                        "Roads: write the map's places of care here (.geojson), as a draft to be "
                        "confirmed");
    command->add_option("--rivers", options.rivers,
                        "Roads: write the map's rivers here (.geojson), to be drawn");
    command->add_option("--time-zone", options.time_zone, "Of ferry timetables and the draft")
        ->capture_default_str();
    command->add_flag("--leave-out-bad-rows", options.leave_out_bad_rows,
                      "Import the good rows and list the others");
    command->add_flag("--make-ids", options.make_ids, "CSV without ids: make them from the names");
    command->add_option("--column", options.columns, "CSV: our column=their column");
    command->add_option("--default", options.defaults, "CSV: column=value where it is missing");
    command->add_option("--ignore-column", options.ignored_columns, "CSV: not read");
    command->add_flag("--json", options.json, "Report as JSON");
    command->footer(
        "Examples:\n  waybourne import roads.osm.pbf --output district.roads\n"
        "  waybourne import places.csv --column latitude=lat --column longitude=lon");
}

void add_protocol(CLI::App& app, ProtocolCheckOptions& options) {
    CLI::App* protocol = app.add_subcommand("protocol", "Work with protocol files");
    protocol->require_subcommand(1);
    CLI::App* check =
        protocol->add_subcommand("check", "Prove that a protocol may be used, or show why not");
    check->add_option("file", options.file, "Protocol file (default: the one that comes with us)");
    check->add_option("--texts", options.texts, "Its texts (default: those that come with us)");
    check->add_flag("--json", options.json, "Answer as JSON");
    check->footer("Example:\n  waybourne protocol check my-protocol.json");
}

void add_journal_redact(CLI::App& redact, JournalOptions& options) {
    constexpr int most_days = 36'500;
    redact
        .add_option("--case-days", options.case_days,
                    "Days that a case is kept after its end (a proposal; national law decides)")
        ->check(CLI::Range(0, most_days))
        ->capture_default_str();
    redact
        .add_option("--read-days", options.read_days,
                    "Days that it is kept who read what (a proposal; national law decides)")
        ->check(CLI::Range(0, most_days))
        ->capture_default_str();
    redact.add_flag("--only-plan", options.only_plan, "Erase nothing, say what would be");
    redact.add_option("--now", options.now, "As if it were this moment (default: now)");
}

void add_journal(CLI::App& app, JournalOptions& options) {
    CLI::App* journal =
        app.add_subcommand("journal", "Verify, export, restore, back up or redact a journal");
    journal->require_subcommand(1);
    const auto add = [&](const char* name, const char* about_it, const char* example) {
        CLI::App* command = journal->add_subcommand(name, about_it);
        command
            ->add_option("store", options.store,
                         "The journal: an SQLite file, or postgresql://user@host/database")
            ->required();
        command->add_flag("--json", options.json, "Answer as JSON");
        command->footer(std::string("Example:\n  waybourne journal ") + example);
        return command;
    };
    add("verify",
        "Read the whole chain and say what is wrong first (exit code 1), or that it is whole",
        "verify journal.db --head 4711:9f86d081…")
        ->add_option("--head", options.head,
                     "SEQUENCE:HASH that verify printed earlier: must be in the chain");
    add("export", "Write all events as JSON lines; others may write meanwhile",
        "export journal.db --output journal.jsonl")
        ->add_option("--output", options.file, "A new file (default: standard output)");
    add("restore", "Fill an empty journal from an exported one, wholly or not at all",
        "restore new.db journal.jsonl")
        ->add_option("file", options.file, "What export wrote; - for standard input")
        ->required();
    add("backup", "Copy an SQLite journal that may be in use, and verify the copy",
        "backup journal.db /media/stick/journal-2026-03-04.db")
        ->add_option("file", options.file, "The copy: a new file")
        ->required();
    add_journal_redact(*add("redact",
                            "Erase the personal data of cases whose time is over; cases on hold "
                            "are left alone, the chain stays whole; others may write meanwhile",
                            "redact journal.db --case-days 30"),
                       options);
}

int run_journal(const CLI::App& chosen, const JournalOptions& options, Terminal& terminal) {
    const std::string name = chosen.get_subcommands().front()->get_name();
    if (name == "verify") {
        return run_journal_verify(options, terminal);
    }
    if (name == "export") {
        return run_journal_export(options, terminal);
    }
    if (name == "restore") {
        return run_journal_restore(options, terminal);
    }
    return name == "redact" ? run_journal_redact(options, terminal)
                            : run_journal_backup(options, terminal);
}

void add_replay(CLI::App& app, ReplayOptions& options) {
    CLI::App* command = app.add_subcommand(
        "replay",
        "Make the recommendations of a referral again from its journal, and show what comes out "
        "otherwise (exit code 1)");
    add_common(*command, options.common);
    command
        ->add_option("journal", options.journal, "The journal: an SQLite file, or postgresql://…")
        ->required();
    command->add_option("code", options.code, "The referral's code")->required();
    command->add_option("--entry", options.entry, "Only the recommendation of this journal entry")
        ->check(CLI::PositiveNumber);
    command->add_flag("--with-today", options.with_today,
                      "As if all that is known today had been known then");
    command->footer("Example:\n  waybourne replay journal.db 7K3M9HXA");
}

void add_note(CLI::App& app, NoteOptions& options) {
    CLI::App* command =
        app.add_subcommand("note", "Write the note of a referral as one A4 page to print (PDF)");
    add_common(*command, options.common);
    command
        ->add_option("journal", options.journal, "The journal: an SQLite file, or postgresql://…")
        ->required();
    command->add_option("code", options.code, "The referral's code")->required();
    command->add_option("--output", options.output, "A new file")->required();
    command
        ->add_option("--link-base", options.link_base,
                     "Where its QR code leads, e.g. https://district.example (default: the "
                     "code says the referral's code alone)")
        ->check(is_link_base);
    command->footer("Example:\n  waybourne note journal.db 7K3M9HXA --output note.pdf");
}

void add_keys(CLI::App& app, KeysOptions& options) {
    CLI::App* keys = app.add_subcommand("keys", "Give out, list or remove keys");
    keys->require_subcommand(1);
    const auto add = [&](const char* name, const char* about_it, const char* example) {
        CLI::App* command = keys->add_subcommand(name, about_it);
        command->add_option("--keys", options.file, "The keys file, private to its owner")
            ->required();
        command->add_flag("--json", options.json, "Answer as JSON");
        command->footer(std::string("Example:\n  waybourne keys ") + example);
        return command;
    };
    CLI::App* one = add("add", "Make a key for one phone or desk and show it once",
                        "add --keys keys.json --role health_worker --facility kezhiru-clinic "
                        "kezhiru-phone-1");
    one->add_option("account", options.account, "A name for the phone or desk, never a person's")
        ->required();
    one->add_option("--role", options.role,
                    "health_worker, facility, dispatcher, driver, planner, administrator, auditor")
        ->required();
    one->add_option("--facility", options.facilities, "Whose cases it may see; may be repeated");
    one->add_flag("--practice", options.practice, "Only practice cases");
    add("list", "Show all keys, without their secrets", "list --keys keys.json");
    add("remove", "Shut a key out: its phone is refused at its next contact",
        "remove --keys keys.json kezhiru-phone-1")
        ->add_option("account", options.account, "The account, or the key's id")
        ->required();
}

int run_keys(const CLI::App& chosen, const KeysOptions& options, Terminal& terminal) {
    const std::string name = chosen.get_subcommands().front()->get_name();
    if (name == "add") {
        return run_keys_add(options, terminal);
    }
    return name == "list" ? run_keys_list(options, terminal) : run_keys_remove(options, terminal);
}

void add_numbers(CLI::App& app, KeysOptions& options) {
    CLI::App* numbers = app.add_subcommand(
        "numbers", "Register, list or remove the numbers of plain phones that act by text message");
    numbers->require_subcommand(1);
    const auto add = [&](const char* name, const char* about_it, const char* example) {
        CLI::App* command = numbers->add_subcommand(name, about_it);
        command->add_option("--keys", options.file, "The keys file, private to its owner")
            ->required();
        command->add_flag("--json", options.json, "Answer as JSON");
        command->footer(std::string("Example:\n  waybourne numbers ") + example);
        return command;
    };
    CLI::App* one = add("add", "Let a number act, and be texted, as this account",
                        "add --keys keys.json --role driver +99955500003 vehicle-3");
    one->add_option("number", options.number, "With + and the code of the country")->required();
    one->add_option("account", options.account,
                    "A name for the phone, never a person's; a driver's is the vehicle's id")
        ->required();
    one->add_option("--role", options.role, "health_worker, facility or driver")->required();
    one->add_option("--facility", options.facilities, "Whose cases it may see; may be repeated");
    add_language(*one, options.language,
                 "In which it is texted: en, fr or sw (default: the district's)");
    one->add_flag("--practice", options.practice, "Only practice cases");
    add("list", "Show all numbers and whom they are taken for", "list --keys keys.json");
    add("remove", "Shut a number out, at once", "remove --keys keys.json +99955500003")
        ->add_option("number", options.number, "As it was registered")
        ->required();
}

int run_numbers(const CLI::App& chosen, const KeysOptions& options, Terminal& terminal) {
    const std::string name = chosen.get_subcommands().front()->get_name();
    if (name == "add") {
        return run_numbers_add(options, terminal);
    }
    return name == "list" ? run_numbers_list(options, terminal)
                          : run_numbers_remove(options, terminal);
}

int run_chosen(const CLI::App& app, const Options& options, Terminal& terminal) {
    const CLI::App& chosen = *app.get_subcommands().front();
    const std::string name = chosen.get_name();
    if (name == "serve") {
        return run_serve(options.serve, terminal);
    }
    if (name == "ask") {
        return run_ask(options.ask, terminal);
    }
    if (name == "route") {
        return run_route(options.route, terminal);
    }
    if (name == "alternatives") {
        return run_alternatives(options.alternatives, terminal);
    }
    if (name == "reach") {
        return run_reach(options.reach, terminal);
    }
    if (name == "dispatch") {
        return run_dispatch(options.dispatch, terminal);
    }
    if (name == "shifts") {
        return run_shifts(options.shifts, terminal);
    }
    if (name == "simulate") {
        return run_simulate(options.simulate, terminal);
    }
    if (name == "places") {
        return run_places(options.places, terminal);
    }
    if (name == "coverage") {
        return run_coverage(chosen, options.coverage, terminal);
    }
    if (name == "pack") {
        return run_pack(options.pack, terminal);
    }
    if (name == "import") {
        return run_import(options.import, terminal);
    }
    if (name == "journal") {
        return run_journal(chosen, options.journal, terminal);
    }
    if (name == "note") {
        return run_note(options.note, terminal);
    }
    if (name == "replay") {
        return run_replay(options.replay, terminal);
    }
    if (name == "keys") {
        return run_keys(chosen, options.keys, terminal);
    }
    if (name == "numbers") {
        return run_numbers(chosen, options.numbers, terminal);
    }
    return run_protocol_check(options.protocol_check, terminal);
}

}  // namespace

int run_command_line(int count, const char* const* values, Terminal& terminal) {
    Options options;
    CLI::App app{about, "waybourne"};
    app.set_version_flag("--version", "waybourne " WAYBOURNE_VERSION);
    app.require_subcommand(1);
    app.footer("Each command has --help with an example.");
    add_serve(app, options.serve);
    add_ask(app, options.ask);
    add_route(app, options.route);
    add_alternatives(app, options.alternatives);
    add_reach(app, options.reach);
    add_dispatch(app, options.dispatch);
    add_shifts(app, options.shifts);
    add_simulate(app, options.simulate);
    add_places(app, options.places);
    add_coverage(app, options.coverage);
    add_pack(app, options.pack);
    add_import(app, options.import);
    add_protocol(app, options.protocol_check);
    add_journal(app, options.journal);
    add_replay(app, options.replay);
    add_note(app, options.note);
    add_keys(app, options.keys);
    add_numbers(app, options.numbers);
    try {
        app.parse(count, values);
        return run_chosen(app, options, terminal);
    } catch (const CLI::ParseError& error) {
        if (error.get_exit_code() == 0) {  // --help and --version are told the same way
            return app.exit(error, terminal.out, terminal.err);
        }
        std::string line = error.what();
        std::replace(line.begin(), line.end(), '\n', ' ');
        terminal.err << "waybourne: " << line << "; see --help\n";
        return 2;
    } catch (...) {
        Problem problem = to_problem(std::current_exception());
        if (problem.type == "internal") {
            problem.detail = "a defect in this program";
            try {
                throw;
            } catch (const std::exception& error) {
                problem.detail += std::string(": ") + error.what();
            } catch (...) {
            }
        }
        terminal.err << "waybourne: " << to_line(problem) << '\n';
        return exit_code(problem);
    }
}

}  // namespace waybourne::server
