#include "server/referrals/note.hpp"

#include <fmt/format.h>

#include "server/json/kept_answer.hpp"
#include "server/json/referral_body.hpp"
#include "server/referrals/desk.hpp"
#include "server/referrals/plan_way.hpp"
#include "server/referrals/recorded_district.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

/// The newest recommendation that has a note to the place asked now; none: an earlier program wrote
/// the entries.
std::optional<KeptAnswer> newest_with_note(const journal::Journal& journal,
                                           const ReferralRecord& record) {
    constexpr std::size_t page = 200;
    std::optional<KeptAnswer> newest;
    journal::Sequence seen = 0;
    for (auto some = journal.read_subject(subject_of(record.code), seen, page); !some.empty();
         some = journal.read_subject(subject_of(record.code), seen, page)) {
        for (const journal::Envelope& envelope : some) {
            seen = envelope.sequence;
            if (!envelope.body || envelope.sequence > record.version) {
                continue;
            }
            const StoredBody body = parse_stored_body(*envelope.body);
            auto kept = parse_kept_answer(*envelope.body);
            if (kept && !kept->note.empty() && body.way && body.way->to == record.way->to) {
                newest = std::move(kept);
            }
        }
    }
    return newest;
}

KeptAnswer worked_out(const journal::Journal& journal, const Snapshot& base,
                      const ReferralRecord& record) {
    const PlannedWay& way = *record.way;
    Basis basis;
    basis.known = way.made_from.sequence;
    const KnownThen known = known_then(base, journal, basis, way.planned_at);
    const RecommendationRequest& request = record.opening->request;
    const Answer answer =
        answer_recommendation(*known.snapshot, request, way.planned_at, known.snapshot->catalogue);
    KeptAnswer kept = keep_answer(*known.snapshot, request, answer, way.planned_at);
    kept.note = note_to(*known.snapshot, request, answer, way, record.code);
    return kept;
}

}  // namespace

NotePage note_page(const journal::Journal& journal, const Snapshot& base,
                   const ReferralRecord& record, const std::string& link_base) {
    if (!record.opening) {
        throw Conflict("referral " + record.code +
                       " has been redacted: its note is no longer kept");
    }
    if (!record.way) {
        throw Conflict("no place has been asked yet: the note is written for the one that is");
    }
    const auto newest = newest_with_note(journal, record);
    const KeptAnswer kept = newest ? *newest : worked_out(journal, base, record);
    NotePage page;
    page.code = record.code;
    page.note = kept.note;
    page.cautions = cautions_of(kept);
    const auto rules = rules_without_source(kept);
    if (!rules.empty()) {
        page.cautions.push_back(base.catalogue.text(Message{
            "server.note.without_source", {{"rules", fmt::format("{}", fmt::join(rules, ", "))}}}));
    }
    page.link = note_link(link_base, record.code);
    page.more = base.catalogue.text(std::string_view{"server.note.more"});
    if (record.is_practice) {
        page.practice_label = base.catalogue.text(std::string_view{"server.note.practice"});
    }
    return page;
}

}  // namespace waybourne::server
