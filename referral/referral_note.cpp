#include "referral/referral_note.hpp"

#include <algorithm>
#include <array>
#include <cstdio>

#include "referral/internal/note_facts.hpp"
#include "referral/internal/page.hpp"
#include "referral/wording.hpp"

namespace waybourne::referral {

namespace {

constexpr std::size_t columns = note_page_columns;
/// Readings shown when there are more than fit: the first ones and the last ones.
constexpr std::size_t readings_shown = 4;

/// Lines each part may take, its heading included. Together no more than the page.
constexpr std::size_t header_lines = 7;
constexpr std::size_t situation_lines = 7;
constexpr std::size_t background_lines = 7;
constexpr std::size_t assessment_lines = 16;
constexpr std::size_t given_lines = 5;
constexpr std::size_t recommendation_lines = 14;
constexpr std::size_t on_the_way_lines = 4;
constexpr std::size_t with_her_lines = 3;
constexpr std::size_t return_lines = 3;
static_assert(header_lines + situation_lines + background_lines + assessment_lines + given_lines +
                  recommendation_lines + on_the_way_lines + with_her_lines + return_lines <=
              static_cast<std::size_t>(note_page_lines));

/// Everything the note is written from.
struct Source {
    const NoteHeader& header;
    const triage::Findings& findings;
    const triage::Assessment& assessment;
    const Recommendation& recommendation;
    const facilities::FacilityRegister& facilities;
    const Catalogue& catalogue;

    using Values = std::vector<std::pair<std::string, std::string>>;
    std::string say(const char* id, Values values = {}) const {
        return catalogue.text(Message{std::string("referral.note.") + id, std::move(values)});
    }
    std::string say(const Message& message) const {
        return in_words(message, catalogue, header.utc_offset, header.written_at);
    }
    /// A clock time, with the date when it is another half day.
    std::string time(Instant at) const {
        return std::chrono::abs(at - header.written_at) > 12h ? date_and_time(at, header.utc_offset)
                                                              : clock_time(at, header.utc_offset);
    }
    std::string blank(const char* id, std::size_t width) const {
        return to_fill_in(say(id), width);
    }
    std::string given_or_blank(const char* id, const char* placeholder, const std::string& value,
                               std::size_t width) const {
        return value.empty() ? to_fill_in(say(id, {{placeholder, ""}}), width)
                             : say(id, {{placeholder, value}});
    }
    std::string place(const FacilityId& id) const {
        const facilities::Facility& facility = facilities.facility(id);
        return facility.phones.empty()
                   ? facility.name
                   : facility.name + ", " + say("phone", {{"phone", facility.phones.front()}});
    }
    std::string care(std::size_t need) const {
        return care_in_words(assessment.needs[need].any_of, catalogue);
    }
};

Section header_of(const Source& from) {
    const std::string title = from.say("title");
    const std::string code = from.given_or_blank("case", "code", from.header.code, 16);
    const std::size_t taken = columns_of(title) + columns_of(code);
    Section part(title + std::string(taken < columns ? columns - taken : 1, ' ') + code, columns,
                 header_lines);
    const auto& header = from.header;
    part.add(from.given_or_blank("from", "site", header.sending_site, 40) + "  " +
             from.given_or_blank("phone", "phone", header.sending_phone, 24));
    part.add(from.say("written", {{"time", date_and_time(header.written_at, header.utc_offset)}}) +
             "  " + from.given_or_blank("grade", "grade", header.worker_grade, 30));
    const auto& chosen = from.recommendation.chosen;
    if (chosen) {
        for (std::size_t stage = 0; stage < chosen->stages.size(); ++stage) {
            const bool has_next = stage + 1 < chosen->stages.size();
            part.add(from.say(has_next    ? "first_to"
                              : stage > 0 ? "then_to"
                                          : "to",
                              {{"place", from.place(chosen->stages[stage].facility)}}));
        }
        part.add(from.blank("spoken_to", 50) + " " + from.blank("at", 12));
    } else {
        part.add(from.say(from.recommendation.outcome == Outcome::stay ? "stay" : "nowhere"));
    }
    const auto& protocol = from.assessment.protocol;
    std::string rules = from.say("protocol", {{"id", protocol.id},
                                              {"version", protocol.version},
                                              {"sha", protocol.sha256.substr(0, 8)}});
    part.add(protocol.approved ? rules : rules + ": " + from.say("not_approved"));
    return part;
}

void add_times(const Source& from, const Stage& stage, Section& part) {
    std::vector<std::string> times;
    if (from.assessment.leave_now) {
        times.push_back(from.say("leave_now"));
    }
    const bool is_late = stage.margin && *stage.margin < Seconds{0};
    if (stage.leave_by && !is_late) {
        times.push_back(from.say("leave_by", {{"time", from.time(*stage.leave_by)}}));
        times.push_back(from.say("be_there_by",
                                 {{"time", from.time(*stage.leave_by + stage.travel_time.allow)}}));
    }
    times.push_back(from.say("arrival", {{"typical", from.time(stage.arrival.typical)},
                                         {"allow", from.time(stage.arrival.allow)}}));
    if (is_late) {
        times.push_back(
            from.say("late", {{"minutes", std::to_string(ceil_minutes(-*stage.margin).count())}}));
    }
    part.add(from.facilities.facility(stage.facility).name + ": " + listed(times) + ".");
}

Section situation_of(const Source& from, const NoteFacts& facts) {
    Section part(from.say("situation"), columns, situation_lines);
    part.add(facts.woman.empty() ? from.blank("age_blank", 20) + "  " + from.say("status_unknown")
                                 : listed(facts.woman));
    part.add(facts.signs.empty() ? from.say("no_sign")
                                 : from.say("danger", {{"facts", listed(facts.signs)}}));
    if (from.recommendation.chosen) {
        for (const Stage& stage : from.recommendation.chosen->stages) {
            add_times(from, stage, part);
        }
    }
    return part;
}

Section background_of(const Source& from, const NoteFacts& facts) {
    Section part(from.say("background"), columns, background_lines);
    // What is to be filled in comes first, so that a long list never takes its place.
    part.add(from.blank("births", 50) + " " + from.blank("blood_group", 29));
    part.add(from.blank("allergies", 34) + " " + from.blank("illnesses", 45));
    part.add(from.blank("results", columns));
    if (!facts.background.empty()) {
        part.add(from.say("known", {{"facts", listed(facts.background)}}));
    }
    return part;
}

std::string number_or_dash(const std::optional<int>& number) {
    return number ? std::to_string(*number) : "-";
}

std::string shock_index_of(const Source& from, const triage::Reading& reading) {
    if (!reading.pulse || !reading.systolic || *reading.systolic <= 0) {
        return "";
    }
    std::array<char, 32> value{};
    std::snprintf(value.data(), value.size(), "%.2f",
                  static_cast<double>(*reading.pulse) / static_cast<double>(*reading.systolic));
    return from.say("shock_index", {{"value", value.data()}});
}

void add_readings(const Source& from, Section& part) {
    auto readings = from.findings.readings;
    std::stable_sort(readings.begin(), readings.end(),
                     [](const auto& a, const auto& b) { return a.taken_at < b.taken_at; });
    if (readings.empty()) {
        part.add(from.say("no_reading"));
    }
    for (std::size_t index = 0; index < readings.size(); ++index) {
        const bool is_left_out = readings.size() > readings_shown && index >= readings_shown / 2 &&
                                 index < readings.size() - readings_shown / 2;
        const triage::Reading& reading = readings[index];
        if (!is_left_out) {
            part.add(from.say("reading", {{"time", from.time(reading.taken_at)},
                                          {"systolic", number_or_dash(reading.systolic)},
                                          {"diastolic", number_or_dash(reading.diastolic)},
                                          {"pulse", number_or_dash(reading.pulse)},
                                          {"shock", shock_index_of(from, reading)}}));
        } else if (index == readings_shown / 2) {
            part.add(
                from.say("more", {{"count", std::to_string(readings.size() - readings_shown)}}));
        }
    }
}

Section assessment_of(const Source& from, const NoteFacts& facts) {
    Section part(from.say("assessment"), columns, assessment_lines);
    add_readings(from, part);
    if (!facts.measured.empty()) {
        part.add(from.say("measured", {{"facts", listed(facts.measured)}}));
    }
    for (const triage::Suspicion& suspicion : from.assessment.suspected) {
        std::string rules;
        for (const triage::Because& because : suspicion.because) {
            rules += (rules.empty() ? "" : " ") + because.rule;
        }
        part.add(from.say("suspected", {{"text", from.say(suspicion.text)}, {"rules", rules}}));
    }
    std::vector<std::string> open;
    for (const triage::Question& question : from.assessment.questions) {
        for (const std::string& field : question.fields) {
            open.push_back(field_in_words(field, from.catalogue));
        }
    }
    if (!open.empty()) {
        part.add(from.say("not_answered", {{"fields", listed(open)}}));
    }
    if (!facts.not_found.empty()) {
        part.add(from.say("not_found", {{"facts", listed(facts.not_found)}}));
    }
    return part;
}

Section given_of(const Source& from) {
    Section part(from.say("given"), columns, given_lines);
    for (int line = 0; line < 3; ++line) {
        part.add(from.blank("medicine", 28) + " " + from.blank("dose", 14) + " " +
                 from.blank("route", 12) + " " + from.blank("time", 12) + " " +
                 from.blank("by", 10));
    }
    part.add(from.blank("fluids_in", 40) + " " + from.blank("urine_out", 39));
    return part;
}

std::string need_words(const Source& from, std::size_t index) {
    const triage::Need& need = from.assessment.needs[index];
    std::string words =
        need.deadline
            ? from.say("need_by", {{"care", from.care(index)}, {"time", from.time(*need.deadline)}})
            : from.say("need", {{"care", from.care(index)}});
    return need.critical ? words + " (" + from.say("critical") + ")" : words;
}

Section recommendation_of(const Source& from) {
    Section part(from.say("recommendation"), columns, recommendation_lines);
    const auto& chosen = from.recommendation.chosen;
    std::vector<std::size_t> open;
    std::vector<std::string> here;
    for (std::size_t index = 0; index < from.assessment.needs.size(); ++index) {
        if (from.assessment.needs[index].available_here) {
            here.push_back(from.care(index));
        } else {
            open.push_back(index);
        }
    }
    if (!open.empty()) {
        part.add(from.say("prepare") + " (" + from.say("not_here") + ")");
    }
    for (const std::size_t index : open) {
        part.add("- " + need_words(from, index));
    }
    if (chosen) {
        for (const std::size_t index : chosen->unmet) {
            part.add(from.say("not_met", {{"care", from.care(index)}}));
        }
    }
    if (chosen && chosen->is_unconfirmed) {
        part.add(from.say("unconfirmed"));
    }
    if (!here.empty()) {
        part.add(from.say("here", {{"care", listed(here)}}));
    }
    if (!from.recommendation.alternatives.empty()) {
        const Choice& next = from.recommendation.alternatives.front();
        part.add(from.say("fallback", {{"place", from.place(next.stages.back().facility)}}));
    }
    return part;
}

Section on_the_way_of(const Source& from) {
    Section part(from.say("on_the_way"), columns, on_the_way_lines);
    for (int line = 0; line < 2; ++line) {
        part.add(from.blank("measured_again", 14) + " " + from.blank("pressure_blank", 20) + " " +
                 from.blank("pulse_blank", 14) + " " + from.blank("events", 29));
    }
    part.add(from.blank("arrived", columns));
    return part;
}

Section with_her_of(const Source& from) {
    Section part(from.say("with_her"), columns, with_her_lines);
    part.add(from.blank("who_travels", 40) + " " + from.blank("donors", 39));
    part.add(from.blank("papers", 40) + " " + from.blank("consent", 39));
    return part;
}

Section return_of(const Source& from) {
    Section part(from.say("return"), columns, return_lines);
    part.add(from.blank("seen", 22) + " " + from.blank("found", 28) + " " + from.blank("done", 28));
    part.add(from.blank("outcome", columns));
    return part;
}

}  // namespace

std::string referral_note(const NoteHeader& header, const triage::Findings& findings,
                          const triage::Assessment& assessment,
                          const Recommendation& recommendation,
                          const facilities::FacilityRegister& facilities,
                          const Catalogue& catalogue) {
    const Source from{header, findings, assessment, recommendation, facilities, catalogue};
    const NoteFacts facts = note_facts(findings, assessment, catalogue);
    const std::array<Section, 9> parts{header_of(from),
                                       situation_of(from, facts),
                                       background_of(from, facts),
                                       assessment_of(from, facts),
                                       given_of(from),
                                       recommendation_of(from),
                                       on_the_way_of(from),
                                       with_her_of(from),
                                       return_of(from)};
    std::string note;
    for (const Section& part : parts) {
        const auto lines = part.lines([&](std::size_t count) {
            return from.say("more", {{"count", std::to_string(count)}});
        });
        for (const std::string& line : lines) {
            note += line + "\n";
        }
    }
    return note;
}

}  // namespace waybourne::referral
