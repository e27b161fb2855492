#include "server/cli/coverage_options.hpp"

#include <CLI/CLI.hpp>
#include <map>

#include "server/cli/shared_options.hpp"

namespace waybourne::server {

namespace {

/// What every question about access takes.
CLI::App* add_question(CLI::App& coverage, CoverageOptions& options, const char* name,
                       const char* about_it, bool has_needs = true) {
    CLI::App* command = coverage.add_subcommand(name, about_it);
    add_common(*command, options.common);
    if (has_needs) {
        command
            ->add_option("--needs", options.needs,
                         "Capabilities that must all be at one place, e.g. "
                         "operative_delivery,blood_transfusion")
            ->delimiter(',');
    }
    command->add_option("--within", options.within, "The time standard in minutes")
        ->check(CLI::Range(0, 1440))
        ->capture_default_str();
    command
        ->add_option("--readiness", options.readiness,
                     "as_registered, by_hour (opening hours count) or as_reported")
        ->check(CLI::IsMember({"as_registered", "by_hour", "as_reported"}))
        ->capture_default_str();
    command
        ->add_option("--transport", options.transport,
                     "at_hand (a vehicle stands ready), on_foot (to the nearest vehicle) or sent "
                     "(a vehicle comes from its base)")
        ->check(CLI::IsMember({"at_hand", "on_foot", "sent"}))
        ->capture_default_str();
    add_travel(*command, options.travel.means, options.travel.leave_at);
    add_conditions(*command, options.travel.surface, options.travel.light);
    command->add_option("--settlements", options.settlements,
                        "Where women live, .geojson or .csv (default: the district's)");
    command->add_option("--areas", options.areas, "Sub-districts, GeoJSON polygons");
    command->add_option("--births-per-1000", options.births_per_1000,
                        "A year, for settlements that give a population and no births");
    return command;
}

void add_capacities(CLI::App& command, CoverageOptions& options) {
    command.add_option("--capacities", options.capacities,
                       "CSV: facility,births_per_year that it has room for");
}

void add_competition(CLI::App& coverage, CoverageOptions& options) {
    CLI::App* command =
        add_question(coverage, options, "competition",
                     "What would come to each place against what it has room for, and who shares "
                     "little with many");
    command->get_option("--needs")->required();
    add_capacities(*command, options);
    command->get_option("--capacities")->required();
    command
        ->add_option("--catchment", options.catchment,
                     "two_step or three_step (nobody counts at two places)")
        ->check(CLI::IsMember({"two_step", "three_step"}))
        ->capture_default_str();
    command
        ->add_option("--zones", options.zones,
                     "How much a way of so many minutes counts: MINUTES=WEIGHT, rising (default: "
                     "30=1,60=0.68,120=0.22)")
        ->delimiter(',');
    command->add_flag("--csv", options.csv, "A table of the settlements and places");
    command->add_flag("--geojson", options.geojson, "The settlements and places as points");
    command->footer(
        "Example:\n  waybourne coverage competition --needs operative_delivery --capacities "
        "capacities.csv");
}

/// The facilities to raise, by themselves or as part of the report.
CLI::App* add_upgrades(CLI::App& coverage, CoverageOptions& options, const char* name,
                       const char* about_it) {
    CLI::App* command = add_question(coverage, options, name, about_it);
    command->get_option("--needs")->required();
    command
        ->add_option("--objective", options.objective,
                     "covering (most births in time), capacity (that also find room), median "
                     "(least mean minutes until care) or centre (least minutes of whoever waits "
                     "longest)")
        ->check(CLI::IsMember({"covering", "capacity", "median", "centre"}))
        ->capture_default_str();
    command->add_option("--count", options.count, "How many at most");
    command->add_option("--budget", options.budget, "What they may cost together");
    command->add_option("--phases", options.phases, "Instead: what each year may cost, e.g. 5,5,3")
        ->delimiter(',');
    command->add_option("--costs", options.costs,
                        "CSV: facility,cost,running_per_year,choice (default: 1 each)");
    command->add_option("--years", options.years, "Running costs count for so many years")
        ->check(CLI::Range(1, 50))
        ->capture_default_str();
    add_capacities(*command, options);
    command->add_flag("--csv", options.csv, "A table of the facilities");
    command->add_flag("--robust", options.is_robust,
                      "Serve most births in the worst of the four seasons and hours");
    return command;
}

void add_what_if(CLI::App& coverage, CoverageOptions& options) {
    CLI::App* command = add_question(coverage, options, "what-if",
                                     "Who would be in time if something were added or lost");
    command->add_option("--service", options.services, "FACILITY=CAPABILITY+CAPABILITY");
    command->add_option("--hours", options.hours, "FACILITY=HOURS, e.g. post-1=24/7");
    command->add_option("--facility", options.facilities, "LAT,LON=CAPABILITY+CAPABILITY");
    command->add_option("--waiting-home", options.waiting_homes, "FACILITY=BIRTHS a year");
    command->add_option("--vehicle-post", options.vehicle_posts,
                        "LAT,LON=MINUTES until the wheels turn; with --transport sent or on_foot");
    command->add_option("--new-bridge", options.new_bridges, "LAT,LON:LAT,LON=KM/H");
    command->add_option("--bridge", options.bridged, "A road whose fords get bridges: name or id");
    command->add_option("--pave", options.paved, "A road: name, or number of the way on the map");
    command->add_option("--close", options.closed, "A road: name, or number of the way on the map");
    command->add_option("--name", options.name, "Of what the options above say together")
        ->capture_default_str();
    command->add_option("--scenarios", options.scenarios,
                        "Several side by side: a JSON list as POST /v1/coverage/what-ifs takes it");
    command->add_option("--save", options.save, "Keep question, inputs and answer in a new file");
    command->add_option("--show", options.show, "Print what was saved, exactly as it was then");
    command->add_flag("--again", options.is_again,
                      "With --show: work it out again from the inputs that were recorded; what has "
                      "changed since is named, today's figures stand beside");
    command->add_flag("--csv", options.csv, "A table of the scenarios");
    command->footer(
        "Example:\n  waybourne coverage what-if --needs operative_delivery --within 60 "
        "--service venzhoth-hospital=operative_delivery --close 1204");
}

/// What facilities counted, for the indicators by themselves or as part of the report.
void add_counts(CLI::App& command, CoverageOptions& options) {
    command.add_option("--months", options.months,
                       "CSV: facility,month,births,caesareans,complications,… (docs/coverage.md)");
    command.add_option("--last-month", options.last_month,
                       "Of the twelve months that count, e.g. 2026-02");
    command.add_option("--population", options.population,
                       "Of the district (default: the sum of its settlements)");
    command.add_option("--functioning", options.functioning,
                       "Facilities that did every basic function in the last three months "
                       "(default: by the register)");
    command.add_option("--functioning-comprehensive", options.functioning_comprehensive,
                       "The same of comprehensive care");
    command.add_option("--journal", options.journal,
                       "Count in this journal as well: an SQLite file or postgresql://…");
}

void add_indicators(CLI::App& coverage, CoverageOptions& options) {
    CLI::App* command =
        coverage.add_subcommand("indicators", "The indicators of emergency obstetric care");
    add_common(*command, options.common);
    add_counts(*command, options);
    command->get_option("--last-month")->required();
    command->add_option("--births-per-1000", options.births_per_1000,
                        "A year (default: by the settlements)");
    command->add_option("--settlements", options.settlements,
                        "Where women live, .geojson or .csv (default: the district's)");
    command->add_option("--areas", options.areas,
                        "Sub-districts, GeoJSON polygons (default: the district's)");
    command->add_option("--profile", options.profile,
                        "Another edition of the indicators (default: the UN set of 2009)");
    command->add_flag("--csv", options.csv, "A table");
    command->footer(
        "Example:\n  waybourne coverage indicators --months counts.csv --last-month 2026-02");
}

void add_accept_speeds(CLI::App& coverage, CoverageOptions& options) {
    CLI::App* command = coverage.add_subcommand(
        "accept-speeds", "Take the speeds that journeys ask for into a new speed table");
    add_common(*command, options.common);
    command->add_option("offer", options.offer, "As `journeys --offer` wrote it")->required();
    command->add_option("--by", options.by, "Who accepts it: a function, not a name")->required();
    command->add_option("--why", options.why, "In words; both become the source of the figures")
        ->required();
    command->add_option("--output", options.output, "The speed table: a new file")->required();
    command->footer(
        "Example:\n  waybourne coverage accept-speeds offer.json --by \"district planner\" --why "
        "\"two dry seasons of journeys\" --output speeds.json");
}

}  // namespace

void add_coverage(CLI::App& app, CoverageOptions& options) {
    CLI::App* coverage = app.add_subcommand(
        "coverage", "For planners: who reaches care in time, and what would change it most");
    coverage->require_subcommand(1);
    CLI::App* access = add_question(*coverage, options, "access",
                                    "Births in time, by settlement, sub-district and facility");
    access->get_option("--needs")->required();
    add_capacities(*access, options);
    access->add_flag("--csv", options.csv, "A table of the settlements");
    access->add_flag("--geojson", options.geojson, "The settlements as points");
    access->footer(
        "Example:\n  waybourne coverage access --needs operative_delivery --within 60 --surface "
        "wet "
        "--light day");
    add_competition(*coverage, options);
    CLI::App* upgrades = add_upgrades(*coverage, options, "upgrades",
                                      "The facilities whose upgrade serves most, for a budget");
    upgrades->add_flag("--geojson", options.geojson, "The facilities as points");
    upgrades->footer(
        "Example:\n  waybourne coverage upgrades --needs "
        "operative_delivery,blood_transfusion --within 60 --count 3");
    CLI::App* report = add_upgrades(*coverage, options, "report",
                                    "Everything for a district officer, as a page that prints");
    report->add_option("--output", options.output, "The page (.html): a new file")->required();
    report->add_option("--scenarios", options.scenarios,
                       "Plans side by side: a JSON list as POST /v1/coverage/what-ifs takes it");
    add_counts(*report, options);
    report->footer(
        "Example:\n  waybourne coverage report --needs operative_delivery --within 120 --count 3 "
        "--scenarios plans.json --months counts.csv --last-month 2026-02 --journal district.db "
        "--output report.html");
    add_what_if(*coverage, options);
    CLI::App* links = add_question(*coverage, options, "links",
                                   "The roads, bridges and places that most births depend on");
    links->get_option("--needs")->required();
    links->add_flag("--csv", options.csv, "A table of the roads");
    links->add_flag("--geojson", options.geojson, "The roads as lines");
    links->footer("Example:\n  waybourne coverage links --needs operative_delivery --within 60");
    add_question(*coverage, options, "trust", "What must be known of the figures beforehand", false)
        ->footer("Example:\n  waybourne coverage trust --areas sub-districts.geojson");
    CLI::App* overview =
        add_question(*coverage, options, "overview",
                     "Every kind of emergency obstetric care, by season and hour", false);
    overview->add_flag("--csv", options.csv, "A table");
    overview->footer("Example:\n  waybourne coverage overview --within 120 --readiness by_hour");
    CLI::App* losses = add_question(*coverage, options, "losses",
                                    "Who is in time on a dry noon, and not in the wet or at night");
    losses->get_option("--needs")->required();
    losses->add_flag("--csv", options.csv, "A table of the settlements");
    losses->add_flag("--geojson", options.geojson, "The settlements as points");
    losses->footer("Example:\n  waybourne coverage losses --needs operative_delivery --within 120");
    CLI::App* sensitivity =
        add_question(*coverage, options, "sensitivity",
                     "The headline with travel times and births lower and higher");
    sensitivity->get_option("--needs")->required();
    sensitivity->footer("Example:\n  waybourne coverage sensitivity --needs operative_delivery");
    add_indicators(*coverage, options);
    CLI::App* journeys = coverage->add_subcommand(
        "journeys", "How long each delay really took, and what that says of the speed table");
    add_common(*journeys, options.common);
    journeys
        ->add_option("--journal", options.journal, "The journal: an SQLite file or postgresql://…")
        ->required();
    journeys->add_flag("--csv", options.csv, "A table of the delays");
    journeys->add_option("--offer", options.offer,
                         "Write the other speeds that the journeys ask for to a new file");
    journeys->footer(
        "Example:\n  waybourne coverage journeys --journal district.db --offer offer.json");
    add_accept_speeds(*coverage, options);
}

namespace {

/// What was saved brings its question and its changes.
void check_what_if(const CLI::App& command, const CoverageOptions& options) {
    if (options.show.empty()) {
        return;
    }
    if (options.is_again) {
        refuse_beside(command, "--show --again takes question and changes from the file",
                      {"--show", "--again", "--settlements", "--areas", "--district", "--now",
                       "--engine", "--language", "--json"});
    } else {
        refuse_beside(command, "--show prints what was saved",
                      {"--show", "--district", "--now", "--engine", "--language", "--json"});
    }
}

}  // namespace

int run_coverage(const CLI::App& chosen, const CoverageOptions& options, Terminal& terminal) {
    static const std::map<std::string, int (*)(const CoverageOptions&, Terminal&)> commands{
        {"access", run_coverage_access},
        {"competition", run_coverage_competition},
        {"upgrades", run_coverage_upgrades},
        {"what-if", run_coverage_what_if},
        {"links", run_coverage_links},
        {"indicators", run_coverage_indicators},
        {"trust", run_coverage_trust},
        {"overview", run_coverage_overview},
        {"losses", run_coverage_losses},
        {"journeys", run_coverage_journeys},
        {"report", run_coverage_report},
        {"sensitivity", run_coverage_sensitivity},
        {"accept-speeds", run_coverage_accept_speeds}};
    const CLI::App& command = *chosen.get_subcommands().front();
    if (command.get_name() == "what-if") {
        check_what_if(command, options);
    }
    return commands.at(command.get_name())(options, terminal);
}

}  // namespace waybourne::server
