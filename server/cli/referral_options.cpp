#include <CLI/CLI.hpp>

#include "server/cli/dispatch.hpp"
#include "server/cli/internal/add_commands.hpp"
#include "server/cli/shared_options.hpp"
#include "server/cli/shifts.hpp"

namespace waybourne::server {

void add_ask(CLI::App& app, Run& run) {
    const auto options = std::make_shared<AskOptions>();
    CLI::App* command = app.add_subcommand(
        "ask", "Where to send her: question by question, or at once from flags or a JSON request");
    add_common(*command, options->common);
    command->add_option(
        "request", options->file,
        "A JSON request as POST /v1/recommendations takes it; - for standard input");
    command->add_flag("--interactive", options->is_interactive,
                      "Ask question by question (the default on a terminal when nothing is given)");
    command->add_option("--from", options->from, "Where she is: a facility's id, or LAT,LON");
    command->add_option("--at", options->at, "When the findings were complete (default: now)");
    command->add_option("--pressure", options->pressure, "Blood pressure in mmHg, e.g. 165/112");
    command->add_option("--pulse", options->pulse, "Pulse in beats a minute");
    command->add_option("--taken-at", options->taken_at, "When these were taken (default: now)");
    command->add_option("--set", options->findings, "A finding, field=value; again for each");
    command->add_option("--here", options->available_here,
                        "A capability that the clinic can give now; again for each");
    command->add_option("--means", options->means,
                        "What carries her: on_foot, motorcycle, car or four_wheel_drive");
    command->add_option("--ready-in", options->ready_in, "Minutes until she can leave");
    add_conditions(*command, options->surface, options->light);
    command->add_flag("--cannot-phone", options->cannot_phone, "Nobody can phone from here");
    command->add_flag("--practice", options->is_practice, "Mark the answer as practice");
    command->add_option("--call", options->calls,
                        "What a call brought, id=accepted, id=refused or id=no_answer");
    command->footer(
        "Examples:\n  waybourne ask\n"
        "  waybourne ask --from kezhiru-clinic --pressure 165/112 --pulse 96 \\\n"
        "      --set status=pregnant --set gestation_weeks=34 --set severe_headache=yes\n"
        "  waybourne ask request.json --json");
    command->callback([options, command, &run] {
        if (!options->file.empty()) {
            refuse_beside(*command, "a JSON request says everything about her",
                          {"request", "--practice", "--district", "--now", "--engine", "--language",
                           "--json"});
        }
        run.exit_code = run_ask(*options, run.terminal);
    });
}

void add_dispatch(CLI::App& app, Run& run) {
    const auto options = std::make_shared<DispatchOptions>();
    CLI::App* command = app.add_subcommand(
        "dispatch", "Who carries whom: one plan for one or several open referrals");
    add_common(*command, options->common);
    command->add_option("file", options->file, "The request as JSON; - for standard input")
        ->required();
    command->footer("Example:\n  waybourne dispatch referrals.json --now 2026-03-04T09:40:00Z");
    on_call(*command, options, run, run_dispatch);
}

void add_shifts(CLI::App& app, Run& run) {
    const auto options = std::make_shared<ShiftsOptions>();
    CLI::App* command = app.add_subcommand(
        "shifts", "Shift handovers of dispatchers, or one with the list that was signed");
    add_common(*command, options->common);
    add_journal_file(*command, options->journal);
    command->add_option("id", options->id, "One of them (default: all, the newest first)");
    command->footer("Example:\n  waybourne shifts journal.db");
    on_call(*command, options, run, run_shifts);
}

void add_replay(CLI::App& app, Run& run) {
    const auto options = std::make_shared<ReplayOptions>();
    CLI::App* command = app.add_subcommand(
        "replay",
        "Make the recommendations of a referral again from its journal, and show what comes out "
        "otherwise (exit code 1)");
    add_common(*command, options->common);
    add_journal_file(*command, options->journal);
    command->add_option("code", options->code, "The referral's code")->required();
    command->add_option("--entry", options->entry, "Only the recommendation of this journal entry")
        ->check(CLI::PositiveNumber);
    command->add_flag("--with-today", options->with_today,
                      "As if all that is known today had been known then");
    command->footer("Example:\n  waybourne replay journal.db 7K3M9HXA");
    on_call(*command, options, run, run_replay);
}

void add_note(CLI::App& app, Run& run) {
    const auto options = std::make_shared<NoteOptions>();
    CLI::App* command =
        app.add_subcommand("note", "Write the note of a referral as one A4 page to print (PDF)");
    add_common(*command, options->common);
    add_journal_file(*command, options->journal);
    command->add_option("code", options->code, "The referral's code")->required();
    command->add_option("--output", options->output, "A new file")->required();
    add_link_base(*command, options->link_base,
                  "Where its QR code leads, e.g. https://district.example (default: the "
                  "code says the referral's code alone)");
    command->footer("Example:\n  waybourne note journal.db 7K3M9HXA --output note.pdf");
    on_call(*command, options, run, run_note);
}

}  // namespace waybourne::server
