#include <doctest/doctest.h>

#include <map>
#include <sstream>

#include "tests/referral/told.hpp"

using namespace waybourne;
using namespace waybourne::referral;
using K = EventKind;
using S = State;
using Kinds = std::vector<EventKind>;

// Every state and every event, once as a table, once as random walks beside a simple model, and
// every order in which late events can arrive. Source: design.md section 6 for the states; which
// step is possible when is docs/referral-life.md.

namespace {

const std::map<std::string, S> short_names{
    {"op", S::opened},         {"in", S::informed},
    {"ac", S::accepted},       {"de", S::declined},
    {"un", S::unanswered},     {"ts", S::transport_sent},
    {"wi", S::with_the_woman}, {"dp", S::departed},
    {"ar", S::arrived},        {"re", S::received},
    {"cl", S::closed},         {"rf", S::refused},
    {"di", S::diverted},       {"ca", S::cancelled},
    {"lo", S::lost_contact},   {"dd", S::died_before_arrival},
};

struct Row {
    S state;
    Kinds path;
    /// One word per event in the order of `event_kinds`: the state after it, `=` the same state,
    /// `.` refused.
    std::string after;
};

const Kinds on_the_way{K::opened,         K::informed,       K::accepted,
                       K::transport_sent, K::with_the_woman, K::departed};

Kinds going_on(Kinds kinds, const Kinds& more) {
    kinds.insert(kinds.end(), more.begin(), more.end());
    return kinds;
}

// clang-format off
const std::vector<Row> table{
    // danger sign, decided, opened | informed, accepted, declined, unanswered | diverted
    // | assigned, sent, with her | departed, arrived, received, care, closed, returned
    // | refused, agreed, cancelled, lost, regained, died, person | alerts, merging, withdrawn
    {S::opened, {K::opened},
     "= = .  in ac de un  di  = ts wi  dp ar . . . .  rf . ca lo . dd =  = = = = ="},
    {S::informed, {K::opened, K::informed},
     "= = .  . ac de un   di  = ts wi  dp ar . . . .  rf . ca lo . dd =  = = = = ="},
    {S::accepted, {K::opened, K::informed, K::accepted},
     "= = .  . . de .     di  = ts wi  dp ar . . . .  rf . ca lo . dd =  = = = = ="},
    {S::declined, {K::opened, K::informed, K::declined},
     "= = .  . ac . .     di  = ts wi  dp ar . . . .  rf . ca lo . dd =  = = = = ="},
    {S::unanswered, {K::opened, K::informed, K::unanswered},
     "= = .  in ac de .   di  = ts wi  dp ar . . . .  rf . ca lo . dd =  = = = = ="},
    {S::transport_sent, {K::opened, K::informed, K::accepted, K::transport_sent},
     "= = .  . . = .      di  = = wi   dp ar . . . .  rf . ca lo . dd =  = = = = ="},
    {S::with_the_woman, {K::opened, K::informed, K::accepted, K::transport_sent, K::with_the_woman},
     "= = .  . . = .      di  = ts .   dp ar . . . .  rf . ca lo . dd =  = = = = ="},
    {S::departed, on_the_way,
     "= = .  . . = .      di  = . .    . ar . . . .   rf . ca lo . dd =  = = = = ="},
    {S::arrived, going_on(on_the_way, {K::arrived}),
     "= = .  . . . .      di  . . .    . . re = . .   . . . . . . =      = = = = ="},
    {S::received, going_on(on_the_way, {K::arrived, K::received}),
     "= = .  . . . .      di  . . .    . . . = cl .   . . . . . . =      = = = = ="},
    {S::closed, going_on(on_the_way, {K::arrived, K::received, K::closed}),
     ". . .  . . . .      .   . . .    . . . . . =    . . . . . . .      = = = = ="},
    {S::refused, {K::opened, K::informed, K::accepted, K::refused},
     "= = .  . . = .      =   . . .    dp ar . . cl . = ac ca lo . dd =  = = = = ="},
    {S::diverted, {K::opened, K::informed, K::declined, K::diverted},
     "= = .  in ac de un  =   = = =    = ar . . . .   rf . ca lo . dd =  = = = = ="},
    {S::cancelled, {K::opened, K::cancelled},
     ". . .  . . . .      .   . . .    . . . . . .    . . . . . . .      = = = = ="},
    {S::lost_contact, going_on(on_the_way, {K::lost_contact}),
     "= = .  . . = .      =   = . .    . ar . . cl .  rf . ca . dp dd dp = = = = ="},
    {S::died_before_arrival, going_on(on_the_way, {K::died_before_arrival}),
     ". . .  . . . .      .   . . .    . . . . . =    . . . . . . .      = = = = ="},
};
// clang-format on

std::vector<std::string> words_of(const std::string& line) {
    std::istringstream stream{line};
    std::vector<std::string> words;
    for (std::string word; stream >> word;) {
        words.push_back(word);
    }
    return words;
}

/// The life of one referral told once more, as plainly as can be: two tracks and the exits, for a
/// referral that asks one place after another and never goes onward.
struct Model {
    std::string reply = "none";
    int journey = 0;  // 0 not begun, 1 sent, 2 with her, 3 departed, 4 arrived, 5 received
    bool refused = false;
    bool lost = false;
    bool diverted = false;
    std::string end = {};

    bool allows(K kind) const {
        const bool before = journey < 4;
        if (!end.empty()) {
            return false;
        }
        switch (kind) {
            case K::informed:
                return before && (reply == "none" || reply == "unanswered");
            case K::accepted:
                return before && reply != "accepted";
            case K::declined:
                return before && reply != "declined";
            case K::unanswered:
                return before && (reply == "none" || reply == "informed");
            case K::diverted:
                return true;
            case K::transport_sent:
                return !refused && journey <= 2;
            case K::with_the_woman:
                return !refused && journey <= 1;
            case K::departed:
                return journey <= 2;
            case K::arrived:
                return before;
            case K::received:
                return journey == 4;
            case K::closed:
                return journey == 5 || refused || lost;
            case K::agreed:
                return refused;
            case K::lost_contact:
                return before && !lost;
            case K::contact_regained:
                return lost;
            default:  // refused, cancelled, died
                return before;
        }
    }

    void take(K kind) {
        static const std::map<K, int> steps{{K::transport_sent, 1},
                                            {K::with_the_woman, 2},
                                            {K::departed, 3},
                                            {K::arrived, 4},
                                            {K::received, 5}};
        static const std::map<K, std::string> replies{{K::informed, "informed"},
                                                      {K::accepted, "accepted"},
                                                      {K::declined, "declined"},
                                                      {K::unanswered, "unanswered"}};
        if (replies.count(kind) != 0) {
            reply = replies.at(kind);
            diverted = false;
            return;
        }
        if (steps.count(kind) != 0) {
            journey = steps.at(kind);
            refused = refused && journey < 3;
            diverted = diverted && journey < 4;
        }
        if (kind == K::diverted) {
            reply = "none";
            diverted = true;
            return;
        }
        if (kind == K::refused) {
            journey = 0;
        }
        refused = kind == K::refused || (refused && kind != K::agreed);
        lost = kind == K::lost_contact;
        if (kind == K::closed) {
            end = "closed";
        } else if (kind == K::cancelled) {
            end = "cancelled";
        } else if (kind == K::died_before_arrival) {
            end = "died_before_arrival";
        }
    }

    std::string state() const {
        static const std::vector<std::string> journeys{
            "", "transport_sent", "with_the_woman", "departed", "arrived", "received"};
        if (!end.empty()) {
            return end;
        }
        if (lost || refused || diverted) {
            return lost ? "lost_contact" : refused ? "refused" : "diverted";
        }
        if (journey > 0) {
            return journeys.at(static_cast<std::size_t>(journey));
        }
        return reply == "none" ? "opened" : reply;
    }
};

const Kinds modelled{K::informed,
                     K::accepted,
                     K::declined,
                     K::unanswered,
                     K::diverted,
                     K::transport_sent,
                     K::with_the_woman,
                     K::departed,
                     K::arrived,
                     K::received,
                     K::closed,
                     K::refused,
                     K::agreed,
                     K::cancelled,
                     K::lost_contact,
                     K::contact_regained,
                     K::died_before_arrival};

/// The ways in which some events can arrive all give one life.
std::size_t check_every_order(std::vector<Event> events) {
    const auto before = [](const Event& one, const Event& other) { return one.id < other.id; };
    std::sort(events.begin(), events.end(), before);
    const Life life = life_of(events);
    std::size_t orders = 0;
    std::size_t different = 0;
    do {
        different += life_of(events) == life ? 0U : 1U;
        ++orders;
    } while (std::next_permutation(events.begin(), events.end(), before));
    CHECK(different == 0);
    return orders;
}

}  // namespace

TEST_CASE("What every event does in every state") {
    CHECK(table.size() == state_count);
    std::size_t cells = 0;
    for (const Row& row : table) {
        CAPTURE(wire_name(row.state));
        const auto events = told(row.path);
        REQUIRE(life_of(events).state() == row.state);
        const auto words = words_of(row.after);
        REQUIRE(words.size() == event_kind_count);
        for (const K kind : event_kinds()) {
            CAPTURE(wire_name(kind));
            const std::string& word = words[static_cast<std::size_t>(kind)];
            Event event = told(kind, 500);
            if (kind == K::withdrawn) {  // rests on what it withdraws: see life_test.cpp
                continue;
            }
            auto with = events;
            with.push_back(event);
            const Life after = life_of(with);
            CHECK(refusal(events, event).has_value() == (word == "."));
            CHECK(after.flags.empty() == (word != "."));
            CHECK(after.events.size() == with.size());
            if (word != ".") {
                CHECK(after.state() == (word == "=" ? row.state : short_names.at(word)));
            }
            ++cells;
        }
    }
    MESSAGE(cells << " cells of the table compared");
}

TEST_CASE("Whatever people do, one referral follows the simple model") {
    std::mt19937 random{20260304};
    MESSAGE("seed 20260304");
    std::size_t steps = 0;
    std::size_t refused = 0;
    for (int walk = 0; walk < 400; ++walk) {
        std::vector<Event> events{told(K::opened, 0)};
        Model model;
        for (int at = 1; at < 25; ++at) {
            const K kind = modelled[random() % modelled.size()];
            // A second departure from a place is another story: the model never goes onward.
            if (kind == K::diverted && model.journey >= 4) {
                continue;
            }
            const bool would_end =
                kind == K::closed || kind == K::cancelled || kind == K::died_before_arrival;
            if (would_end && random() % 4 != 0) {
                continue;  // so that most walks are long
            }
            const Event event = told(kind, at);
            const bool is_allowed = model.allows(kind);
            REQUIRE(refusal(events, event).has_value() == !is_allowed);
            ++steps;
            if (!is_allowed) {
                ++refused;
                continue;
            }
            events.push_back(event);
            model.take(kind);
            const Life life = life_of(events);
            REQUIRE(wire_name(life.state()) == model.state());
            REQUIRE(wire_name(life.reply) == model.reply);
            REQUIRE(life.flags.empty());
        }
    }
    MESSAGE(steps << " steps compared, " << refused << " of them refused");
    CHECK(refused > 1000);
}

TEST_CASE("In whatever order late events arrive, the referral ends in the same state") {
    std::size_t orders = 0;
    SUBCASE("an ordinary journey") {
        orders = check_every_order(told(Kinds{K::opened, K::informed, K::accepted, K::departed,
                                              K::arrived, K::received, K::closed}));
    }
    SUBCASE("with steps out of sequence and the same minute for several") {
        auto events = told(Kinds{K::opened, K::arrived, K::departed, K::accepted, K::cancelled,
                                 K::lost_contact, K::diverted});
        for (Event& event : events) {
            event.occurred_at = std::min(event.occurred_at, opening_time + 20min);
        }
        orders = check_every_order(events);
    }
    SUBCASE("with corrections of corrections") {
        auto events = told(Kinds{K::opened, K::departed, K::arrived});
        events.push_back(correcting(told(K::arrived, 25, "x1"), events[2]));
        events.push_back(correcting(told(K::arrived, 26, "x2"), events[2]));
        events.push_back(correcting(told(K::withdrawn, 40, "x3"), events[4]));
        events.push_back(correcting(told(K::withdrawn, 41, "x4"), events[5]));
        orders = check_every_order(events);
    }
    SUBCASE("with a refusal, a baby and a death") {
        orders = check_every_order(
            told(Kinds{K::opened, K::refused, K::agreed, K::departed, K::person_added,
                       K::died_before_arrival, K::contact_regained}));
    }
    MESSAGE(orders << " orders compared");
    CHECK(orders == 5040);  // 7!
}

TEST_CASE("Long histories of everything, shuffled, end in the same state too") {
    std::mt19937 random{7};
    MESSAGE("seed 7");
    for (int history = 0; history < 60; ++history) {
        std::vector<Event> events{told(K::opened, 0)};
        for (int at = 1; at < 40; ++at) {
            Event event = told(event_kinds()[random() % event_kind_count],
                               static_cast<int>(random() % 30), "e" + std::to_string(at));
            if (event.kind == K::withdrawn || random() % 5 == 0) {
                event.corrects = events[random() % events.size()].id;
            }
            events.push_back(event);
        }
        const Life life = life_of(events);
        for (int shuffled = 0; shuffled < 10; ++shuffled) {
            std::shuffle(events.begin(), events.end(), random);
            REQUIRE(life_of(events) == life);
        }
    }
}
