#include "triage/repeat.hpp"

#include <algorithm>
#include <tuple>

namespace waybourne::triage {

namespace {

struct Judged {
    std::size_t place = 0;
    Instant taken_at{};
    bool complete = false;
    bool severe = false;
    bool abnormal = false;
    bool not_recordable = false;
    ReadingNumbers numbers = {};
};

Judged judge(const Protocol& protocol, const CheckedReading& reading, std::size_t place) {
    Situation situation(protocol.fields.size());
    const auto fields = reading_fields(protocol.reading);
    for (std::size_t part = 0; part < 3; ++part) {
        if (reading.accepted[part]) {
            situation.set(fields[part], *reading.accepted[part]);
        }
    }
    const auto holds = [&](ConditionId condition) {
        return protocol.conditions.evaluate(condition, situation) == Answer::yes;
    };
    const bool severe = holds(protocol.reading.severe);
    return {place,
            reading.taken_at,
            reading.is_complete(),
            severe,
            severe || holds(protocol.reading.abnormal),
            reading.not_recordable,
            reading.accepted};
}

/// By time. Of those taken at the same moment complete ones come first and severe ones last, so
/// that none of them is relaxed by the others.
bool earlier(const Judged& a, const Judged& b) {
    return std::tuple(a.taken_at, !a.complete, a.severe, a.abnormal, a.numbers) <
           std::tuple(b.taken_at, !b.complete, b.severe, b.abnormal, b.numbers);
}

/// Goes through the readings in order and keeps those that stand.
class Fold {
public:
    explicit Fold(Seconds rest) : rest_(rest) {}

    void take(const Judged& next) {
        const bool later = !standing_.empty() && next.taken_at > standing_.back().taken_at;
        if (!next.complete || !later) {
            add(next);
            return;
        }
        for (Judged& reading : standing_) {
            reading.not_recordable = false;  // a repeat is accepted
        }
        const auto last_severe = std::find_if(standing_.rbegin(), standing_.rend(),
                                              [](const Judged& r) { return r.severe; });
        if (last_severe != standing_.rend()) {
            take_after_severe(next, last_severe.base());
        } else if (is_abnormal() && next.taken_at < latest_abnormal() + rest_) {
            add(next);
        } else {
            decided_ = decided_ || is_abnormal();
            standing_ = {next};
        }
    }

    StandingReadings finish() const {
        StandingReadings result;
        for (const Judged& reading : standing_) {
            result.places.push_back(reading.place);
        }
        result.due = due();
        if (is_abnormal()) {
            result.rest_from = latest_abnormal();
        }
        return result;
    }

private:
    using Place = std::vector<Judged>::const_iterator;

    void add(const Judged& next) {
        decided_ = decided_ && (is_abnormal() || !next.abnormal);
        standing_.push_back(next);
    }

    void take_after_severe(const Judged& next, Place after_severe) {
        const auto agreeing = std::find_if(after_severe, standing_.cend(),
                                           [](const Judged& r) { return r.complete; });
        if (next.severe || agreeing == standing_.cend()) {
            add(next);
            return;
        }
        const Judged before = *agreeing;
        decided_ = true;
        standing_ = {before, next};
    }

    bool is_abnormal() const {
        return std::any_of(standing_.begin(), standing_.end(),
                           [](const Judged& r) { return r.abnormal; });
    }

    Instant latest_abnormal() const {
        return std::find_if(standing_.rbegin(), standing_.rend(),
                            [](const Judged& r) { return r.abnormal; })
            ->taken_at;
    }

    RepeatDue due() const {
        const auto is_severe = [](const Judged& r) { return r.severe; };
        if (std::any_of(standing_.begin(), standing_.end(),
                        [](const Judged& r) { return r.not_recordable; })) {
            return RepeatDue::not_recordable;
        }
        const auto severe = std::count_if(standing_.begin(), standing_.end(), is_severe);
        if (severe > 0) {
            if (standing_.back().severe) {
                return severe > 1 ? RepeatDue::none : RepeatDue::at_once;
            }
            return standing_.back().complete ? RepeatDue::third : RepeatDue::at_once;
        }
        if (is_abnormal()) {
            return decided_ ? RepeatDue::none : RepeatDue::after_rest;
        }
        return decided_ ? RepeatDue::after_normal : RepeatDue::none;
    }

    Seconds rest_;
    std::vector<Judged> standing_;
    /// The readings that stand are themselves the repeat of abnormal ones.
    bool decided_ = false;
};

}  // namespace

StandingReadings standing_readings(const Protocol& protocol,
                                   const std::vector<CheckedReading>& readings) {
    std::vector<Judged> judged;
    bool all_refused = false;
    for (std::size_t place = 0; place < readings.size(); ++place) {
        const CheckedReading& reading = readings[place];
        if (!reading.is_empty() || reading.not_recordable) {
            judged.push_back(judge(protocol, reading, place));
        } else {
            all_refused |= std::any_of(reading.doubts.begin(), reading.doubts.end(), is_refused);
        }
    }
    std::sort(judged.begin(), judged.end(), earlier);
    Fold fold(protocol.reading.rest);
    for (const Judged& reading : judged) {
        fold.take(reading);
    }
    StandingReadings standing = fold.finish();
    if (standing.due == RepeatDue::none && all_refused) {
        standing.due = RepeatDue::refused;
    }
    return standing;
}

}  // namespace waybourne::triage
