#include <CLI/CLI.hpp>

#include "server/cli/internal/add_commands.hpp"
#include "server/cli/shared_options.hpp"

namespace waybourne::server {

namespace {

void add_way(CLI::App& command, RouteOptions& options) {
    add_common(command, options.common);
    command.add_option("from", options.from, "A facility's id, or LAT,LON")->required();
    command.add_option("to", options.to, "A facility's id, or LAT,LON")->required();
    add_travel(command, options.means, options.leave_at);
    add_conditions(command, options.surface, options.light);
}

}  // namespace

void add_route(CLI::App& app, Run& run) {
    const auto options = std::make_shared<RouteOptions>();
    CLI::App* command = app.add_subcommand("route", "The way between two places");
    add_way(*command, *options);
    command->footer(
        "Example:\n  waybourne route kezhiru-clinic sorvrith-hospital --surface wet "
        "--light day");
    on_call(*command, options, run, run_route);
}

void add_alternatives(CLI::App& app, Run& run) {
    const auto options = std::make_shared<AlternativesOptions>();
    CLI::App* command = app.add_subcommand(
        "alternatives", "The best way and the others worth knowing, also round closed roads");
    add_way(*command, options->way);
    command->add_option("--closed", options->closed,
                        "Take this road as closed: its name, or the number of the way on the map; "
                        "again for each");
    command->add_option("--most-others", options->most_others, "Besides the best (default: 2)");
    command->footer(
        "Example:\n  waybourne alternatives luzhenni-clinic sorvrith-hospital "
        "--closed \"Orchard road\"");
    on_call(*command, options, run, run_alternatives);
}

void add_reach(CLI::App& app, Run& run) {
    const auto options = std::make_shared<ReachOptions>();
    CLI::App* command = app.add_subcommand(
        "reach", "What lies within a time of a place, or from where the place is reached");
    add_common(*command, options->common);
    command->add_option("place", options->place, "A facility's id, or LAT,LON")->required();
    command->add_option("--within", options->within_minutes, "Minutes, 1 to 1440")->required();
    command->add_flag("--to", options->is_to, "From where the place is reached");
    command->add_option("--judged-by", options->judged_by,
                        "typical (default), or allow: the time that nine of ten trips keep");
    add_travel(*command, options->means, options->leave_at);
    add_conditions(*command, options->surface, options->light);
    command->footer("Example:\n  waybourne reach sorvrith-hospital --within 60 --to");
    on_call(*command, options, run, run_reach);
}

void add_places(CLI::App& app, Run& run) {
    const auto options = std::make_shared<PlacesOptions>();
    CLI::App* command =
        app.add_subcommand("places", "Who can give it: how far, ready when, and why not");
    add_common(*command, options->common);
    command->add_option("capability", options->capability, "e.g. operative_delivery")->required();
    command->add_option("--from", options->from, "A facility's id, or LAT,LON")->required();
    command->add_option("--means", options->means,
                        "on_foot, motorcycle, car (default) or four_wheel_drive");
    add_conditions(*command, options->surface, options->light);
    command->footer("Example:\n  waybourne places blood_transfusion --from kezhiru-clinic");
    on_call(*command, options, run, run_places);
}

}  // namespace waybourne::server
