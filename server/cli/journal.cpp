#include <fmt/format.h>

#include <filesystem>
#include <fstream>
#include <ostream>

#include "journal/journal_file.hpp"
#include "journal/open_journal.hpp"
#include "journal/private_file.hpp"
#include "journal/sqlite_journal.hpp"
#include "server/cli/commands.hpp"
#include "server/json/writer.hpp"
#include "server/referrals/retention.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

std::string to_text(const journal::Head& head) {
    return std::to_string(head.sequence) + ":" + to_hex(head.hash);
}

/// `SEQUENCE:HASH`, as `verify` prints it.
std::optional<journal::Head> parse_head(const std::string& text) {
    if (text.empty()) {
        return std::nullopt;
    }
    const std::size_t colon = text.find(':');
    const std::string number = text.substr(0, colon);
    constexpr std::size_t most_digits = 18;
    if (colon == std::string::npos || number.empty() || number.size() > most_digits ||
        number.find_first_not_of("0123456789") != std::string::npos) {
        throw InputError("--head takes SEQUENCE:HASH as verify prints it");
    }
    try {
        return journal::Head{std::stoll(number), journal::digest_from_hex(text.substr(colon + 1))};
    } catch (const InputError& error) {
        throw InputError(std::string("--head: ") + error.what());
    }
}

void write_head(JsonWriter& json, const journal::Head& head) {
    json.key("head").begin_object().member("sequence", head.sequence);
    json.member("hash", to_hex(head.hash)).end_object();
}

/// The answer of a command that ends with a head.
int tell(const journal::Head& head, const char* done, bool as_json, std::ostream& out) {
    if (as_json) {
        JsonWriter json{2};
        json.begin_object().member(done, head.sequence);
        write_head(json, head);
        out << json.end_object().take() << '\n';
    } else {
        out << fmt::format("{} {} events; head {}\n", head.sequence, done, to_text(head));
    }
    return 0;
}

void print(const journal::Verdict& verdict, const std::string& damage, std::ostream& out) {
    out << fmt::format("{} events in order, {} of them redacted; head {}\n", verdict.checked,
                       verdict.redacted, to_text(verdict.head));
    if (verdict.fault) {
        out << fmt::format("First fault: event {}: {}\n", verdict.fault->sequence,
                           verdict.fault->reason);
    }
    if (!damage.empty()) {
        out << "The store is damaged: " << damage << '\n';
    }
}

std::string as_json(const journal::Verdict& verdict, const std::string& damage) {
    JsonWriter json{2};
    json.begin_object().member("is_whole", verdict.passed() && damage.empty());
    json.member("checked", verdict.checked).member("redacted", verdict.redacted);
    write_head(json, verdict.head);
    json.key("fault");
    if (verdict.fault) {
        json.begin_object().member("sequence", verdict.fault->sequence);
        json.member("reason", verdict.fault->reason).end_object();
    } else {
        json.null();
    }
    json.member("store_damage", damage.empty() ? std::nullopt : std::optional(damage));
    return json.end_object().take();
}

}  // namespace

int run_journal_verify(const JournalOptions& options, Terminal& terminal) {
    const auto known = parse_head(options.head);
    const auto journal = journal::open_journal(options.store, journal::Access::read);
    const journal::Verdict verdict = verify(*journal, known);
    const std::string damage = journal->store_damage();
    if (options.json) {
        terminal.out << as_json(verdict, damage) << '\n';
    } else {
        print(verdict, damage, terminal.out);
    }
    if (verdict.passed() && damage.empty()) {
        return 0;
    }
    terminal.err << "waybourne: this journal is not whole: keep the files as they are and see "
                    "docs/journal.md\n";
    return 1;
}

int run_journal_export(const JournalOptions& options, Terminal& terminal) {
    const auto journal = journal::open_journal(options.store, journal::Access::read);
    if (options.file.empty() || options.file == "-") {
        return tell(export_journal(*journal, terminal.out), "exported", options.json, terminal.err);
    }
    journal::PrivateFile file{options.file};
    std::ofstream out{file.part(), std::ios::binary};
    const journal::Head head = export_journal(*journal, out);
    out.close();
    if (!out) {
        throw Unavailable(options.file + ": could not be written to its end");
    }
    file.finish();
    return tell(head, "exported", options.json, terminal.out);
}

int run_journal_restore(const JournalOptions& options, Terminal& terminal) {
    if (options.file == "-") {
        const auto journal = journal::open_journal(options.store);
        return tell(restore_journal(terminal.in, *journal), "restored", options.json, terminal.out);
    }
    std::ifstream in{options.file, std::ios::binary};
    if (!in) {
        throw InputError(options.file + ": cannot be read");
    }
    const auto journal = journal::open_journal(options.store);
    return tell(restore_journal(in, *journal), "restored", options.json, terminal.out);
}

int run_journal_backup(const JournalOptions& options, Terminal& terminal) {
    if (journal::is_postgres(options.store)) {
        throw InputError(
            "a journal on PostgreSQL is backed up by PostgreSQL's own tools (pg_basebackup, "
            "pg_dump) or by waybourne journal export");
    }
    journal::backup_sqlite_journal(options.store, options.file);
    const auto copy = journal::open_journal(options.file, journal::Access::read);
    const journal::Verdict verdict = verify(*copy);
    if (!verdict.passed()) {
        throw DataError(fmt::format("the copy is complete, but event {} is damaged in it: {}",
                                    verdict.fault->sequence, verdict.fault->reason));
    }
    return tell(verdict.head, "backed_up", options.json, terminal.out);
}

namespace {

std::string as_json(const RetentionDone& done, bool only_plan, const journal::Head& head) {
    JsonWriter json{2};
    json.begin_object().member("only_plan", only_plan).member("due", done.plan.due.size());
    json.member("on_hold", done.plan.held.size()).member("not_yet", done.plan.not_yet);
    json.member("open", done.plan.open).member("erased_of_cases", done.of_cases);
    json.member("erased_of_shifts", done.of_shifts);
    json.member("erased_of_reads", done.of_reads).member("may_linger", done.may_linger);
    write_head(json, head);
    return json.end_object().take();
}

void print(const RetentionDone& done, bool only_plan, std::ostream& out) {
    out << fmt::format(
        "{} cases are due, {} on hold, {} have ended too short a time ago, {} open\n",
        done.plan.due.size(), done.plan.held.size(), done.plan.not_yet, done.plan.open);
    if (only_plan) {
        out << "Nothing was erased.\n";
        return;
    }
    out << fmt::format("Erased: {} events of cases, {} of reads, {} lists of shifts\n",
                       done.of_cases, done.of_reads, done.of_shifts);
    if (done.may_linger) {
        out << "Old bytes may still lie in files of the store: see docs/journal.md, Redaction\n";
    }
}

}  // namespace

int run_journal_redact(const JournalOptions& options, Terminal& terminal) {
    const Instant now = options.now.empty() ? SystemClock{}.now() : parse_rfc3339(options.now);
    const RetentionSettings settings{std::chrono::days{options.case_days},
                                     std::chrono::days{options.read_days}};
    if (!journal::is_postgres(options.store) && !std::filesystem::exists(options.store)) {
        throw NotFound(options.store + ": there is no such journal");
    }
    const auto journal = journal::open_journal(
        options.store, options.only_plan ? journal::Access::read : journal::Access::write);
    RetentionDone done;
    if (options.only_plan) {
        done.plan = plan_retention(*journal, settings, now);
    } else {
        done = run_retention(*journal, settings, now);
    }
    const journal::Verdict verdict = verify(*journal);
    if (options.json) {
        terminal.out << as_json(done, options.only_plan, verdict.head) << '\n';
    } else {
        print(done, options.only_plan, terminal.out);
        terminal.out << fmt::format("head {}\n", to_text(verdict.head));
    }
    if (verdict.passed()) {
        return 0;
    }
    terminal.err << fmt::format("waybourne: event {} is damaged: {}\n", verdict.fault->sequence,
                                verdict.fault->reason);
    return 1;
}

}  // namespace waybourne::server
