#include <CLI/CLI.hpp>

#include "server/cli/internal/add_commands.hpp"
#include "server/cli/shared_options.hpp"
#include "server/cli/simulate.hpp"

namespace waybourne::server {

void add_serve(CLI::App& app, Run& run) {
    const auto options = std::make_shared<ServeOptions>();
    CLI::App* command = app.add_subcommand("serve", "Serve the HTTP API until stopped");
    add_common(*command, options->common);
    command->add_option("--host", options->host, "Address to listen on")->capture_default_str();
    command->add_option("--port", options->port, "Port; 0 takes any free one")
        ->check(CLI::Range(0, 65535))
        ->capture_default_str();
    command
        ->add_option("--journal", options->journal,
                     "Where referrals and reports are kept: an SQLite file, made when it is not "
                     "there, or postgresql://… (default: none are taken)")
        ->multi_option_policy(CLI::MultiOptionPolicy::TakeLast);
    command->add_option("--pack-key", options->pack_key,
                        "The key that signs what phones take with them, made when it is not there "
                        "(default: beside the journal file; without one a new key at each start)");
    command->add_option("--keys", options->keys,
                        "Ask everybody for a key of this file (waybourne keys)");
    command->add_option("--messages", options->messages,
                        "Send and take text messages through the gateway of this private file "
                        "(docs/howto/text-messages.md); needs --journal and --keys");
    command->add_flag("--practice", options->is_practice,
                      "Everybody practises: all cases are practice cases, nobody outside is told");
    command->add_flag("--allow-remote-without-keys", options->allow_remote_without_keys,
                      "Listen on an address that others can reach, although nobody needs a key");
    command->add_option("--tls-certificate", options->tls_certificate,
                        "Certificate with its chain, PEM (docs/howto/certificates.md)");
    command->add_option("--tls-key", options->tls_key, "Its key, PEM, without a passphrase");
    command->add_flag("--allow-remote-without-tls", options->allow_remote_without_tls,
                      "Listen on an address that others can reach, although whoever is on the way "
                      "reads keys and what women told");
    add_link_base(*command, options->link_base,
                  "Where the QR code of printed notes leads, e.g. https://district.example");
    command->footer("Example:\n  waybourne serve --port 9000\n  curl http://127.0.0.1:9000/readyz");
    on_call(*command, options, run, run_serve);
}

void add_pack(CLI::App& app, Run& run) {
    const auto options = std::make_shared<PackOptions>();
    CLI::App* command =
        app.add_subcommand("pack", "Write what a phone needs to answer without a connection");
    add_common(*command, options->common);
    command
        ->add_option("--key", options->key,
                     "The key that signs it, as serve --pack-key has it; made when it is not there")
        ->required();
    command->add_option("--output", options->output, "The pack: a new file")->required();
    command->footer("Example:\n  waybourne pack --key pack.key --output district.pack");
    on_call(*command, options, run, run_pack);
}

namespace {

/// Each option of an import is of one kind of file.
void check_import(const CLI::App& command, const ImportOptionsGiven& options) {
    if (is_roads(options)) {
        refuse_beside(command, options.file + " is read as roads",
                      {"file", "--kind", "--output", "--draft-register", "--rivers", "--time-zone",
                       "--json"});
    } else if (options.file.ends_with(".csv")) {
        refuse_beside(command, options.file + " is read as a table of facilities",
                      {"file", "--kind", "--output", "--leave-out-bad-rows", "--make-ids",
                       "--column", "--default", "--ignore-column", "--json"});
    } else {
        refuse_beside(command, options.file + " is read as facilities",
                      {"file", "--kind", "--output", "--leave-out-bad-rows", "--json"});
    }
}

}  // namespace

void add_import(CLI::App& app, Run& run) {
    const auto options = std::make_shared<ImportOptionsGiven>();
    CLI::App* command = app.add_subcommand(
        "import", "Read roads (.osm, .osm.pbf) or facilities (.geojson, .csv) and report on them");
    command->add_option("file", options->file, "What to read")->required();
    command->add_option("--kind", options->kind, "roads or facilities (default: by the name)")
        ->check(CLI::IsMember({"roads", "facilities"}));
    command->add_option("--output", options->output,
                        "Write the prepared map (.roads, in the place of an earlier one) or a new "
                        "register (.geojson) here; without it the file is only checked");
    command->add_option("--draft-register", options->draft_register,
                        "Roads: write the map's places of care to a new file (.geojson), as a "
                        "draft to be confirmed");
    command->add_option("--rivers", options->rivers,
                        "Roads: write the map's rivers to a new file (.geojson), to be drawn");
    command
        ->add_option("--time-zone", options->time_zone,
                     "The district's own, for ferry timetables and the draft: a prepared map with "
                     "ferries is good for this zone only")
        ->capture_default_str();
    command->add_flag("--leave-out-bad-rows", options->leave_out_bad_rows,
                      "Import the good rows and list the others");
    command->add_flag("--make-ids", options->make_ids, "CSV without ids: make them from the names");
    command->add_option("--column", options->columns, "CSV: our column=their column");
    command->add_option("--default", options->defaults, "CSV: column=value where it is missing");
    command->add_option("--ignore-column", options->ignored_columns, "CSV: not read");
    command->add_flag("--json", options->json, "Report as JSON");
    command->footer(
        "Examples:\n  waybourne import roads.osm.pbf --output district.roads --time-zone "
        "Africa/Blantyre\n"
        "  waybourne import places.csv --column latitude=lat --column longitude=lon");
    command->callback([options, command, &run] {
        check_import(*command, *options);
        run.exit_code = run_import(*options, run.terminal);
    });
}

void add_protocol(CLI::App& app, Run& run) {
    const auto options = std::make_shared<ProtocolCheckOptions>();
    CLI::App* protocol = app.add_subcommand("protocol", "Work with protocol files");
    protocol->require_subcommand(1);
    CLI::App* check =
        protocol->add_subcommand("check", "Prove that a protocol may be used, or show why not");
    check->add_option("file", options->file, "Protocol file (default: the one that comes with us)");
    check->add_option("--texts", options->texts, "Its texts (default: those that come with us)");
    check->add_flag("--json", options->json, "Answer as JSON");
    check->footer("Example:\n  waybourne protocol check my-protocol.json");
    on_call(*check, options, run, run_protocol_check);
}

void add_simulate(CLI::App& app, Run& run) {
    const auto options = std::make_shared<SimulateOptions>();
    CLI::App* command = app.add_subcommand(
        "simulate", "The district for a year: who would be in time, under one policy or several");
    add_common(*command, options->common);
    command->add_option("--days", options->days, "How long, from --now on")
        ->check(CLI::Range(1, 3660))
        ->capture_default_str();
    command->add_option("--seed", options->seed, "The same seed, the same year")
        ->capture_default_str();
    command
        ->add_option("--policy", options->policies,
                     "one_plan (default), each_by_itself, nearest_free; may be repeated: the "
                     "others are compared with the first")
        ->delimiter(',');
    command
        ->add_option("--births-per-year", options->births_per_year,
                     "In the whole district (default: what the settlements say)")
        ->check(CLI::Range(1.0, 1e7));
    command
        ->add_option("--complications-per-1000", options->complications_per_1000,
                     "Of 1000 births (default: 150, WHO 1994)")
        ->check(CLI::Range(0.0, 1000.0));
    command->add_option("--settlements", options->settlements,
                        "A file of settlements (default: the district's)");
    command->add_option("--births-per-1000", options->births_per_1000,
                        "For settlements with a population only");
    command->add_option("--vehicles", options->vehicles,
                        "A file of vehicles (default: the district's)");
    command->add_flag("--nobody-phones", options->nobody_phones,
                      "Whether a place is ready turns out when she is there");
    command->add_flag("--places-never-fail", options->places_never_fail,
                      "Every place is ready whenever it may be");
    command
        ->add_option("--own-transport", options->own_transport,
                     "Share of women with something at hand (no published rate: 0)")
        ->check(CLI::Range(0.0, 1.0));
    command->add_option("--own-means", options->own_means, "What is at hand")
        ->check(CLI::IsMember({"on_foot", "motorcycle", "car", "four_wheel_drive"}))
        ->capture_default_str();
    command
        ->add_option("--does-not-start", options->does_not_start,
                     "Share of calls at which a vehicle does not start (no published rate: 0)")
        ->check(CLI::Range(0.0, 1.0));
    command->footer(
        "Example:\n  waybourne simulate --births-per-year 20000 --policy one_plan,nearest_free");
    on_call(*command, options, run, run_simulate);
}

}  // namespace waybourne::server
