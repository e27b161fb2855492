#include <CLI/CLI.hpp>

#include "server/cli/internal/add_commands.hpp"
#include "server/cli/shared_options.hpp"

namespace waybourne::server {

namespace {

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

/// Adds what can be done with a keys file.
struct OfKeysFile {
    CLI::App& parent;
    const std::shared_ptr<KeysOptions>& options;
    Run& run;

    CLI::App* operator()(const char* name, int (*act)(const KeysOptions&, Terminal&),
                         const char* about_it, const std::string& example) const {
        CLI::App* command = parent.add_subcommand(name, about_it);
        command->add_option("--keys", options->file, "The keys file, private to its owner")
            ->required();
        command->add_flag("--json", options->json, "Answer as JSON");
        command->footer("Example:\n  waybourne " + parent.get_name() + " " + example);
        on_call(*command, options, run, act);
        return command;
    }
};

}  // namespace

void add_journal(CLI::App& app, Run& run) {
    const auto options = std::make_shared<JournalOptions>();
    CLI::App* journal =
        app.add_subcommand("journal", "Verify, export, restore, back up or redact a journal");
    journal->require_subcommand(1);
    using Act = int (*)(const JournalOptions&, Terminal&);
    const auto add = [&](const char* name, Act act, const char* about_it, const char* example) {
        CLI::App* command = journal->add_subcommand(name, about_it);
        command
            ->add_option("store", options->store,
                         "The journal: an SQLite file, or postgresql://user@host/database")
            ->required();
        command->add_flag("--json", options->json, "Answer as JSON");
        command->footer(std::string("Example:\n  waybourne journal ") + example);
        on_call(*command, options, run, act);
        return command;
    };
    add("verify", run_journal_verify,
        "Read the whole chain and say what is wrong first (exit code 1), or that it is whole",
        "verify journal.db --head 4711:9f86d081…")
        ->add_option("--head", options->head,
                     "SEQUENCE:HASH that verify printed earlier: must be in the chain");
    add("export", run_journal_export, "Write all events as JSON lines; others may write meanwhile",
        "export journal.db --output journal.jsonl")
        ->add_option("--output", options->file, "A new file (default: standard output)");
    add("restore", run_journal_restore,
        "Fill an empty journal from an exported one, wholly or not at all",
        "restore new.db journal.jsonl")
        ->add_option("file", options->file, "What export wrote; - for standard input")
        ->required();
    add("backup", run_journal_backup,
        "Copy an SQLite journal that may be in use, and verify the copy",
        "backup journal.db /media/stick/journal-2026-03-04.db")
        ->add_option("file", options->file, "The copy: a new file")
        ->required();
    add_journal_redact(*add("redact", run_journal_redact,
                            "Erase the personal data of cases whose time is over; cases on hold "
                            "are left alone, the chain stays whole; others may write meanwhile",
                            "redact journal.db --case-days 30"),
                       *options);
}

void add_keys(CLI::App& app, Run& run) {
    const auto options = std::make_shared<KeysOptions>();
    CLI::App* keys = app.add_subcommand("keys", "Give out, list or remove keys");
    keys->require_subcommand(1);
    const OfKeysFile add{*keys, options, run};
    CLI::App* one = add("add", run_keys_add, "Make a key for one phone or desk and show it once",
                        "add --keys keys.json --role health_worker --facility kezhiru-clinic "
                        "kezhiru-phone-1");
    one->add_option("account", options->account, "A name for the phone or desk, never a person's")
        ->required();
    one->add_option("--role", options->role,
                    "health_worker, facility, dispatcher, driver, planner, administrator, auditor")
        ->required();
    one->add_option("--facility", options->facilities, "Whose cases it may see; may be repeated");
    one->add_flag("--practice", options->practice, "Only practice cases");
    add("list", run_keys_list, "Show all keys, without their secrets", "list --keys keys.json");
    add("remove", run_keys_remove, "Shut a key out: its phone is refused at its next contact",
        "remove --keys keys.json kezhiru-phone-1")
        ->add_option("account", options->account, "The account, or the key's id")
        ->required();
}

void add_numbers(CLI::App& app, Run& run) {
    const auto options = std::make_shared<KeysOptions>();
    CLI::App* numbers = app.add_subcommand(
        "numbers", "Register, list or remove the numbers of plain phones that act by text message");
    numbers->require_subcommand(1);
    const OfKeysFile add{*numbers, options, run};
    CLI::App* one = add("add", run_numbers_add, "Let a number act, and be texted, as this account",
                        "add --keys keys.json --role driver +99955500003 vehicle-3");
    one->add_option("number", options->number, "With + and the code of the country")->required();
    one->add_option("account", options->account,
                    "A name for the phone, never a person's; a driver's is the vehicle's id")
        ->required();
    one->add_option("--role", options->role, "health_worker, facility, dispatcher or driver")
        ->required();
    one->add_option("--facility", options->facilities, "Whose cases it may see; may be repeated");
    add_language(*one, options->language,
                 "In which it is texted: en, fr or sw (default: the district's)");
    one->add_flag("--practice", options->practice, "Only practice cases");
    add("list", run_numbers_list, "Show all numbers and whom they are taken for",
        "list --keys keys.json");
    add("remove", run_numbers_remove, "Shut a number out, at once",
        "remove --keys keys.json +99955500003")
        ->add_option("number", options->number, "As it was registered")
        ->required();
}

}  // namespace waybourne::server
