#include "facilities/internal/evidence.hpp"

namespace waybourne::facilities {

namespace {

bool is_over(const Report& report, Instant at) {
    return report.until && at >= *report.until;
}

/// Says "ready" about that moment for this many units.
bool says_ready(const Report& report, int units, Instant at) {
    const bool is_replaced = report.backup_until && at < *report.backup_until;
    const bool is_enough = !report.units || *report.units >= units;
    const bool is_in_date = !report.expires_at || at < *report.expires_at;
    return is_replaced || (report.is_ready && is_enough && is_in_date);
}

/// The report that counts at that moment: the newest that is not over. Of two from the same second
/// the one about the thing itself.
const Report* newest_in_force(const Evidence& evidence, Instant at) {
    const Report* own =
        evidence.own != nullptr && !is_over(*evidence.own, at) ? evidence.own : nullptr;
    const Report* capability =
        evidence.capability_ready != nullptr && !is_over(*evidence.capability_ready, at)
            ? evidence.capability_ready
            : nullptr;
    if (own == nullptr || capability == nullptr) {
        return own != nullptr ? own : capability;
    }
    return capability->at > own->at ? capability : own;
}

Finding ready_since(const Ageing& ageing, Instant said_at, const Report* report, Instant at) {
    const Seconds age = at - said_at;
    return {Claim::ready, said_at, report, age <= ageing.shelf_life,
            chance_after_ready(ageing, age)};
}

}  // namespace

Finding find(const Evidence& evidence, Instant at, Instant now) {
    const Ageing& ageing = *evidence.ageing;
    const Report* report = newest_in_force(evidence, at);
    if (evidence.confirmed_at && (report == nullptr || report->at < *evidence.confirmed_at)) {
        return ready_since(ageing, *evidence.confirmed_at, nullptr, at);
    }
    if (report == nullptr) {
        const Report* last = evidence.own != nullptr ? evidence.own : evidence.capability_ready;
        if (last == nullptr) {
            return {Claim::never_heard, std::nullopt, nullptr, false, ageing.long_run_share};
        }
        return {Claim::over, last->at, last, false, ageing.long_run_share};
    }
    if (says_ready(*report, evidence.units, at)) {
        return ready_since(ageing, report->at, report, at);
    }
    if (report->until || now - report->at <= ageing.shelf_life) {
        return {Claim::not_ready, report->at, report, false, 0};
    }
    return {Claim::was_not_ready, report->at, report, false,
            chance_after_not_ready(ageing, at - report->at)};
}

std::optional<Instant> first_not_blocked(const Evidence& evidence, Instant from, Instant now) {
    // Each step leaves one report behind, so two steps are enough; the third only confirms.
    for (int step = 0; step < 3; ++step) {
        const Finding finding = find(evidence, from, now);
        if (finding.claim != Claim::not_ready) {
            return from;
        }
        if (!finding.report->until) {
            return std::nullopt;
        }
        from = *finding.report->until;
    }
    return std::nullopt;
}

}  // namespace waybourne::facilities
