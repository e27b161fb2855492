#include <fmt/format.h>

#include <chrono>
#include <cmath>
#include <filesystem>
#include <ostream>

#include "facilities/register_file.hpp"
#include "routing/network_file.hpp"
#include "routing/osm_import.hpp"
#include "routing/prepared_metric.hpp"
#include "routing/speed_table.hpp"
#include "server/cli/commands.hpp"
#include "server/cli/draft_register.hpp"
#include "server/cli/output_files.hpp"
#include "server/json/rivers.hpp"
#include "server/json/writer.hpp"
#include "server/program_files.hpp"
#include "vocabulary/error.hpp"
#include "vocabulary/sha256.hpp"

namespace waybourne::server {

namespace fs = std::filesystem;

namespace {

/// One line that is written over while a person watches; lines elsewhere.
Progress progress_to(Terminal& terminal) {
    return [&err = terminal.err, watched = terminal.is_interactive](std::string_view doing,
                                                                    double share) {
        const std::string text = share < 0
                                     ? std::string(doing)
                                     : fmt::format("{} {:.0f} %", doing, std::floor(share * 100));
        if (watched) {
            err << "\r\x1b[K" << text << (share >= 1 ? "\n" : "") << std::flush;
        } else if (share >= 1) {
            err << text << '\n';
        }
    };
}

std::map<std::string, std::string> pairs_of(const std::vector<std::string>& texts,
                                            const std::string& option) {
    std::map<std::string, std::string> pairs;
    for (const std::string& text : texts) {
        pairs.insert(name_and_value(text, option));
    }
    return pairs;
}

std::string read_input(const std::string& file) {
    try {
        return read_program_file(file);
    } catch (const DataError& error) {
        throw InputError(error.what());
    }
}

void write_remarks(JsonWriter& json, std::string_view name,
                   const std::vector<routing::ImportRemark>& remarks) {
    json.key(name).begin_list();
    for (const routing::ImportRemark& remark : remarks) {
        json.begin_object().member("reason", remark.reason);
        json.member("count", static_cast<std::int64_t>(remark.count)).key("examples").begin_list();
        for (const std::int64_t example : remark.examples) {
            json.value(example);
        }
        json.end_list().end_object();
    }
    json.end_list();
}

/// What was made of a map beyond its network.
struct Prepared {
    std::shared_ptr<const routing::Hierarchy> hierarchy;
    std::chrono::milliseconds took{};
};

/// Orders and contracts the network, so that `serve` need not.
Prepared prepare(const routing::RoadNetwork& network, const Progress& progress) {
    const auto begin = std::chrono::steady_clock::now();
    Prepared prepared{routing::make_hierarchy(network, progress), {}};
    prepared.took = std::chrono::duration_cast<std::chrono::milliseconds>(
        std::chrono::steady_clock::now() - begin);
    return prepared;
}

std::string roads_as_json(const routing::ImportedMap& map, const Prepared& prepared,
                          const std::string& output) {
    const routing::ImportReport& report = map.report;
    const auto whole = [](auto number) { return static_cast<std::int64_t>(number); };
    JsonWriter json{2};
    json.begin_object().member("kind", "roads").member("bytes", whole(report.bytes));
    json.member("duration_ms", whole(report.duration.count()));
    json.member("roads", whole(report.roads)).member("ferries", whole(report.ferries));
    json.member("missing_nodes", whole(report.missing_nodes));
    json.member("fords", whole(report.fords)).member("barriers", whole(report.barriers));
    json.member("turn_relations", whole(report.turn_relations));
    json.member("turn_restrictions", whole(report.turn_restrictions));
    json.member("nodes", whole(report.components.nodes));
    json.member("arcs", whole(report.components.arcs));
    json.member("nodes_in_largest_part", whole(report.components.nodes_in_largest));
    json.member("other_parts", whole(report.components.left_out_count));
    json.member("health_sites", map.health_sites.size());
    json.member("rivers", map.rivers.size());
    write_remarks(json, "left_out", report.left_out);
    write_remarks(json, "assumed", report.assumed);
    if (prepared.hierarchy) {
        json.member("up_arcs", whole(prepared.hierarchy->arc_count()));
        json.member("prepared_ms", whole(prepared.took.count()));
    }
    json.member("output", output.empty() ? std::nullopt : std::optional(output));
    return json.end_object().take();
}

void print_remarks(std::ostream& out, const char* title,
                   const std::vector<routing::ImportRemark>& remarks) {
    if (remarks.empty()) {
        return;
    }
    out << title << ":\n";
    for (const routing::ImportRemark& remark : remarks) {
        out << fmt::format("  {} x {} (e.g. {})\n", remark.count, remark.reason,
                           fmt::join(remark.examples, ", "));
    }
}

void print_roads(const routing::ImportedMap& map, const Prepared& prepared, std::ostream& out) {
    const routing::ImportReport& report = map.report;
    out << fmt::format("{} roads and {} ferries: {} nodes, {} arcs, {:.0f} km, read in {} ms.\n",
                       report.roads, report.ferries, report.components.nodes,
                       report.components.arcs, report.components.length.value() / 1000,
                       report.duration.count());
    out << fmt::format("The largest connected part has {} nodes; {} other parts are kept too.\n",
                       report.components.nodes_in_largest, report.components.left_out_count);
    out << fmt::format("{} of {} turn restrictions are kept.\n", report.turn_restrictions,
                       report.turn_relations);
    if (prepared.hierarchy) {
        out << fmt::format("Prepared for quick answers in {:.1f} s: {} up arcs, {} high.\n",
                           std::chrono::duration<double>(prepared.took).count(),
                           prepared.hierarchy->arc_count(), prepared.hierarchy->height());
    }
    print_remarks(out, "Left out", report.left_out);
    print_remarks(out, "Read with an assumption", report.assumed);
}

/// Before the work. A prepared map may take the place of an earlier one.
void check_files(const ImportOptionsGiven& options, bool roads) {
    refuse_same_file({{"what is read", options.file},
                      {"--output", options.output},
                      {"--draft-register", options.draft_register},
                      {"--rivers", options.rivers}});
    for (const std::string& file : {options.draft_register, options.rivers}) {
        refuse_existing(file);
    }
    if (roads && fs::exists(options.output) && !routing::is_network_file(options.output)) {
        throw Conflict(options.output + " exists already and is no prepared map");
    }
    if (!roads) {
        refuse_existing(options.output);
    }
}

int import_roads(const ImportOptionsGiven& options, Terminal& terminal) {
    const auto speeds = routing::parse_speed_table(
        read_program_file(program_folder() / "routing" / "data" / "speeds.json"));
    const std::string hash = sha256(read_input(options.file));
    routing::ImportSettings settings;
    settings.time_zone = options.time_zone;
    const auto map = routing::import_osm(options.file, speeds, settings, progress_to(terminal));
    Prepared prepared;
    if (!options.output.empty()) {
        prepared = prepare(map.network, progress_to(terminal));
        routing::write_network_file(options.output, map.network, hash, prepared.hierarchy.get());
    }
    if (!options.draft_register.empty()) {
        write_new_public_file(options.draft_register,
                              draft_register(map.health_sites, options.time_zone));
        terminal.err << fmt::format("{}: {} places of care, a draft: ask each what it offers\n",
                                    options.draft_register, map.health_sites.size());
    }
    if (!options.rivers.empty()) {
        write_new_public_file(options.rivers, rivers_to_geojson(map.rivers));
        terminal.err << fmt::format("{}: {} rivers\n", options.rivers, map.rivers.size());
    }
    if (options.json) {
        terminal.out << roads_as_json(map, prepared, options.output) << '\n';
    } else {
        print_roads(map, prepared, terminal.out);
    }
    return 0;
}

void write_rows(JsonWriter& json, std::string_view name,
                const std::vector<facilities::RowRemark>& rows) {
    json.key(name).begin_list();
    for (const facilities::RowRemark& row : rows) {
        json.begin_object().member("row", row.row).member("column", row.column);
        json.member("detail", row.detail).end_object();
    }
    json.end_list();
}

void print_rows(std::ostream& out, const char* title,
                const std::vector<facilities::RowRemark>& rows) {
    for (const facilities::RowRemark& row : rows) {
        out << title << ": " << to_text(row) << '\n';
    }
}

/// Every bad row on a line of its own; nothing is imported.
int refuse_rows(const InputError& error, const ImportOptionsGiven& options, Terminal& terminal) {
    if (options.json) {
        JsonWriter json{2};
        json.begin_object().member("kind", "facilities").member("imported", 0);
        json.key("rejected").begin_list();
        for (const FieldError& field : error.fields()) {
            json.begin_object().member("pointer", field.pointer);
            json.member("detail", field.detail).end_object();
        }
        terminal.out << json.end_list().end_object().take() << '\n';
    } else {
        for (const FieldError& field : error.fields()) {
            terminal.out << "rejected: " << field.pointer << ": " << field.detail << '\n';
        }
    }
    terminal.err << "waybourne: " << options.file << ": nothing was imported: " << error.what()
                 << '\n';
    return 2;
}

int import_facilities(const ImportOptionsGiven& options, Terminal& terminal) {
    facilities::ImportOptions settings;
    settings.bad_rows = options.leave_out_bad_rows ? facilities::BadRows::leave_out
                                                   : facilities::BadRows::refuse_all;
    settings.columns = pairs_of(options.columns, "--column");
    settings.defaults = pairs_of(options.defaults, "--default");
    settings.ignored_columns = options.ignored_columns;
    settings.make_ids = options.make_ids;
    facilities::Import import;
    try {
        import = facilities::load_facilities(options.file, settings);
        // Proves what only the whole can show, e.g. an id that stands twice.
        const facilities::FacilityRegister all{import.facilities, import.holidays};
    } catch (const InputError& error) {
        if (error.fields().empty()) {
            throw;
        }
        return refuse_rows(error, options, terminal);
    }
    if (!options.output.empty()) {
        write_new_public_file(options.output, to_geojson(import.facilities, import.holidays));
    }
    if (options.json) {
        JsonWriter json{2};
        json.begin_object().member("kind", "facilities");
        json.member("imported", import.facilities.size());
        write_rows(json, "left_out", import.left_out);
        write_rows(json, "warnings", import.warnings);
        json.member("output",
                    options.output.empty() ? std::nullopt : std::optional(options.output));
        terminal.out << json.end_object().take() << '\n';
    } else {
        print_rows(terminal.out, "left out", import.left_out);
        print_rows(terminal.out, "doubtful", import.warnings);
        terminal.out << import.facilities.size() << " facilities "
                     << (options.output.empty() ? "are good; nothing was written\n" : "imported\n");
    }
    return 0;
}

}  // namespace

bool is_roads(const ImportOptionsGiven& options) {
    if (!options.kind.empty()) {
        return options.kind == "roads";
    }
    const std::string name = fs::path{options.file}.filename().string();
    if (name.find(".osm") != std::string::npos || name.ends_with(".pbf")) {
        return true;
    }
    if (name.ends_with(".csv") || name.ends_with(".geojson") || name.ends_with(".json")) {
        return false;
    }
    throw InputError(name + ": say --kind roads or --kind facilities");
}

int run_import(const ImportOptionsGiven& options, Terminal& terminal) {
    const bool roads = is_roads(options);
    check_files(options, roads);
    return roads ? import_roads(options, terminal) : import_facilities(options, terminal);
}

}  // namespace waybourne::server
