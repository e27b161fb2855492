#include "server/cli/page.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "server/facility_name.hpp"

namespace waybourne::server {

namespace {

constexpr std::size_t page_columns = 79;

/// Breaks a text at spaces; later lines are indented two more than the first.
std::string wrapped(const std::string& text, std::size_t indent) {
    std::string page;
    std::string line(indent, ' ');
    std::size_t at = 0;
    bool is_empty = true;
    while (at < text.size()) {
        const std::size_t end = std::min(text.find(' ', at), text.size());
        const std::string word = text.substr(at, end - at);
        if (!is_empty && line.size() + 1 + word.size() > page_columns) {
            page += line + '\n';
            line = std::string(indent + 2, ' ');
            is_empty = true;
        }
        line += (is_empty ? "" : " ") + word;
        is_empty = false;
        at = end + 1;
    }
    return page + line + '\n';
}

class Page {
public:
    Page(const Snapshot& snapshot, const Answer& answer, Instant now)
        : snapshot_(snapshot),
          assessment_(answer.assessment),
          recommendation_(answer.recommendation),
          words_(snapshot.catalogue, snapshot.zone, now),
          now_(now) {}

    std::string text() {
        found();
        instructions();
        needs();
        where();
        call();
        fallback();
        passed_over();
        list("server.page.meanwhile", words_.texts(recommendation_.meanwhile));
        ask_also();
        list("server.page.remarks", words_.texts(recommendation_.remarks));
        auto cautions = words_.texts(assessment_.cautions);
        for (const std::string& caution : words_.texts(recommendation_.cautions)) {
            cautions.push_back(caution);
        }
        list("server.page.cautions", cautions);
        return std::move(page_);
    }

private:
    using Values = std::vector<std::pair<std::string, std::string>>;

    std::string say(const char* id, Values values = {}) const {
        return words_.text(Message{id, std::move(values)});
    }
    void heading(const char* id) { page_ += (page_.empty() ? "" : "\n") + say(id) + '\n'; }
    void line(const std::string& text) { page_ += wrapped(text, 2); }
    void list(const char* title, const std::vector<std::string>& texts) {
        if (texts.empty()) {
            return;
        }
        heading(title);
        for (const std::string& text : texts) {
            line(text);
        }
    }

    void found() {
        heading("server.page.found");
        for (const triage::Suspicion& suspicion : assessment_.suspected) {
            std::string facts;
            for (const triage::Because& because : suspicion.because) {
                for (const std::string& fact : words_.texts(because.facts)) {
                    if (facts.find(fact) == std::string::npos) {
                        facts += (facts.empty() ? "" : "; ") + fact;
                    }
                }
            }
            line(words_.text(suspicion.text) + (facts.empty() ? "" : " (" + facts + ")"));
        }
        if (assessment_.suspected.empty()) {
            line(say("server.page.nothing_found"));
        }
        refused("server.page.refused", assessment_.refused);
        refused("server.page.confirm", assessment_.confirm);
    }

    void refused(const char* title, const std::vector<triage::Refused>& values) {
        std::vector<std::string> texts;
        texts.reserve(values.size());
        for (const triage::Refused& value : values) {
            texts.push_back(say(
                "server.page.refused_value",
                {{"field", value.field}, {"given", value.given}, {"why", words_.text(value.why)}}));
        }
        list(title, texts);
    }

    void instructions() {
        std::vector<std::string> now;
        std::vector<std::string> later;
        std::vector<std::string> withheld;
        for (const auto& instruction : assessment_.do_now) {
            now.push_back(words_.text(instruction.text));
        }
        for (const auto& instruction : assessment_.on_the_way) {
            later.push_back(words_.text(instruction.text));
        }
        for (const auto& item : assessment_.withheld) {
            withheld.push_back(words_.text(item.name) + ": " + words_.text(item.because));
        }
        list("server.page.do_now", now);
        list("server.page.withheld", withheld);
        list("server.page.on_the_way", later);
        if (assessment_.measure_again) {
            heading("server.page.measure_again");
            const std::string why = words_.text(assessment_.measure_again->why);
            const Seconds after = assessment_.measure_again->after;
            line(after <= Seconds{0} ? say("server.page.measure_now", {{"why", why}})
                                     : say("server.page.measure_after",
                                           {{"span", words_.span(after)}, {"why", why}}));
        }
    }

    void needs() {
        std::vector<std::string> texts;
        for (const triage::Need& need : assessment_.needs) {
            const std::string care = words_.capabilities(need.any_of);
            if (need.available_here) {
                texts.push_back(say("server.page.need_here", {{"care", care}}));
            } else if (!need.deadline) {
                texts.push_back(say("server.page.need_without_limit", {{"care", care}}));
            } else if (*need.deadline <= now_) {
                texts.push_back(say("server.page.need_overdue",
                                    {{"care", care}, {"time", words_.clock(*need.deadline)}}));
            } else {
                texts.push_back(
                    say("server.page.need", {{"care", care},
                                             {"time", words_.clock(*need.deadline)},
                                             {"span", words_.span(*need.deadline - now_)}}));
            }
        }
        list("server.page.needs", texts);
    }

    void where() {
        heading("server.page.where");
        if (recommendation_.outcome == referral::Outcome::stay) {
            line(say(stay_id()));
        } else if (!recommendation_.chosen) {
            line(say("server.page.nowhere"));
        } else {
            if (recommendation_.outcome == referral::Outcome::late) {
                line(say("server.page.late"));
            }
            if (assessment_.leave_now) {
                line(say("server.page.leave_now"));
            }
            const auto& stages = recommendation_.chosen->stages;
            for (std::size_t i = 0; i < stages.size(); ++i) {
                if (i > 0) {
                    heading("server.page.where_second");
                }
                stage(stages[i], i == 0);
            }
        }
    }

    /// That nothing calls for transfer is said only when nothing that is still to be answered, or
    /// was refused, could change it (docs/cautions.md).
    const char* stay_id() const {
        const auto& questions = assessment_.questions;
        const bool is_open =
            !assessment_.refused.empty() ||
            std::any_of(questions.begin(), questions.end(),
                        [](const triage::Question& question) { return question.could; });
        return !assessment_.needs.empty() ? "server.page.stay_here"
               : is_open                  ? "server.page.stay_not_yet"
                                          : "server.page.stay_nothing";
    }

    void stage(const referral::Stage& stage, bool is_first) {
        line(place(stage.facility));
        std::string care;
        for (const triage::Capability capability : stage.meets) {
            care += (care.empty() ? "" : ", ") + words_.capability(capability);
        }
        if (!care.empty()) {
            line(say("server.page.gives", {{"care", care}}));
        }
        line(say("server.page.travel", {{"distance", distance_words(stage.distance)},
                                        {"typical", words_.span(stage.travel_time.typical)},
                                        {"allow", words_.span(stage.travel_time.allow)}}));
        if (is_first && stage.leave_by) {
            line(*stage.leave_by <= now_ ? say("server.page.leave_at_once")
                                         : say("server.page.leave_by",
                                               {{"time", words_.clock(*stage.leave_by)},
                                                {"span", words_.span(*stage.leave_by - now_)}}));
        }
        line(say("server.page.arrival", {{"typical", words_.clock(stage.arrival.typical)},
                                         {"allow", words_.clock(stage.arrival.allow)},
                                         {"care", words_.clock(stage.care_begins.typical)},
                                         {"care_allow", words_.clock(stage.care_begins.allow)}}));
        for (const auto& readiness : stage.readiness) {
            for (const std::string& reason : words_.texts(readiness.reasons)) {
                line(words_.capability(readiness.capability) + ": " + reason);
            }
        }
        for (const std::string& leg : way_lines(stage.route, words_)) {
            line(leg);
        }
    }

    std::string name(const FacilityId& id) const { return name_of(snapshot_.facilities, id); }
    std::string phones(const FacilityId& id) const {
        const facilities::Facility* facility = snapshot_.facilities.find_facility(id);
        return facility == nullptr || facility->phones.empty()
                   ? say("server.page.no_phone")
                   : say("server.page.phones",
                         {{"phones", fmt::format("{}", fmt::join(facility->phones, ", "))}});
    }
    std::string place(const FacilityId& id) const { return name(id) + ". " + phones(id); }

    void call() {
        std::vector<std::string> texts;
        for (const referral::CallFirst& first : recommendation_.call_first) {
            const std::string otherwise =
                first.if_declined
                    ? say("server.page.call_next", {{"name", name(*first.if_declined)}})
                    : say("server.page.call_no_next");
            texts.push_back(say("server.page.call", {{"name", name(first.facility)},
                                                     {"phones", phones(first.facility)},
                                                     {"wait", words_.span(first.wait)},
                                                     {"otherwise", otherwise}}));
        }
        list("server.page.call_first", texts);
    }

    void fallback() {
        std::vector<std::string> texts;
        for (const referral::Choice& choice : recommendation_.alternatives) {
            std::string places;
            for (const referral::Stage& stage : choice.stages) {
                places += (places.empty() ? "" : "; ") +
                          say("server.page.fallback_place",
                              {{"name", name(stage.facility)},
                               {"phones", phones(stage.facility)},
                               {"typical", words_.clock(stage.arrival.typical)},
                               {"allow", words_.clock(stage.arrival.allow)}});
            }
            texts.push_back(places);
        }
        list("server.page.fallback", texts);
    }

    void passed_over() {
        std::vector<std::string> texts;
        for (const referral::PassedOver& place : recommendation_.passed_over) {
            const std::string reasons =
                fmt::format("{}", fmt::join(words_.texts(place.reasons), "; "));
            texts.push_back(
                place.travel_time
                    ? say("server.page.passed", {{"name", name(place.facility)},
                                                 {"time", words_.span(place.travel_time->typical)},
                                                 {"reasons", reasons}})
                    : say("server.page.passed_no_way",
                          {{"name", name(place.facility)}, {"reasons", reasons}}));
        }
        list("server.page.passed_over", texts);
    }

    void ask_also() {
        std::vector<std::string> texts;
        for (const triage::Question& question : assessment_.questions) {
            if (!question.could) {
                continue;
            }
            std::string text = words_.text(question.text);
            if (question.fields.size() > 1) {
                std::vector<std::string> signs;
                for (const std::string& field : question.fields) {
                    signs.push_back(words_.text(Message{"triage.field." + field}));
                }
                text += fmt::format(" {}", fmt::join(signs, "; "));
            }
            texts.push_back(std::move(text));
        }
        list("server.page.ask_also", texts);
    }

    const Snapshot& snapshot_;
    const triage::Assessment& assessment_;
    const referral::Recommendation& recommendation_;
    Words words_;
    Instant now_;
    std::string page_;
};

}  // namespace

std::string distance_words(Metres distance) {
    constexpr double kilometre = 1000;
    if (distance.value() < kilometre) {
        return fmt::format("{:.0f} m", std::round(distance.value() / 10) * 10);
    }
    return fmt::format("{:.0f} km", distance.value() / kilometre);
}

std::vector<std::string> way_lines(const routing::Route& route, const Words& words) {
    std::vector<std::string> lines;
    for (const routing::Leg& leg : route.legs) {
        constexpr Metres few_steps{20};
        if (leg.is_assumed && leg.distance < few_steps) {
            continue;  // from the door to the road: nobody needs to be told
        }
        std::string roads;
        std::string last;
        for (const routing::Stretch& stretch : leg.stretches) {
            const std::string& road = stretch.road.empty() ? stretch.road_class : stretch.road;
            if (road != last && !road.empty()) {
                roads += (roads.empty() ? "" : ", ") + road;
                last = road;
            }
        }
        const char* id = leg.is_assumed          ? "server.page.leg_assumed"
                         : leg.wait > Seconds{0} ? "server.page.leg_wait"
                                                 : "server.page.leg";
        lines.push_back(words.text(
            Message{id,
                    {{"means", words.text(Message{"server.means." + to_name(leg.means)})},
                     {"distance", distance_words(leg.distance)},
                     {"typical", words.span(leg.travel_time.typical)},
                     {"wait", words.span(leg.wait)},
                     {"roads", roads}}}));
    }
    return lines;
}

std::string answer_page(const Snapshot& snapshot, const Answer& answer, Instant now) {
    return Page{snapshot, answer, now}.text();
}

}  // namespace waybourne::server
