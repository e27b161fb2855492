#include <doctest/doctest.h>

#include <cmath>
#include <iomanip>
#include <set>
#include <sstream>

#include "server/coverage_indicators.hpp"
#include "server/json/value.hpp"
#include "server/json/writer.hpp"
#include "server/planning_desk.hpp"
#include "tests/server/guarded_sample.hpp"
#include "tests/server/has.hpp"
#include "tests/server/recorded_sample.hpp"
#include "tests/server/served_sample.hpp"
#include "vocabulary/error.hpp"

// Planners' questions over HTTP, of the invented sample district.

namespace waybourne::server::test {

namespace {

const std::string theatre = R"("needs": ["operative_delivery"], "within_minutes": 60,
  "road_conditions": {"surface": "wet", "light": "day"})";

JsonValue answer_to(const ServedSample& sample, const std::string& what, const std::string& body) {
    const Reply reply = post(sample.port(), "/v1/coverage/" + what, "{" + body + "}");
    REQUIRE_MESSAGE(reply.status == 200, reply.body);
    return parse_json(reply.body);
}

/// She is accepted, leaves five minutes later, and is under way for `took`.
void travel(RecordedSample& sample, const std::string& code, Seconds took) {
    for (const auto& [step, waits] :
         {std::pair("accepted", 60s), std::pair("departed", 300s), std::pair("arrived", took)}) {
        sample.clock().pass(waits);
        const Reply reply = sample.tell(code, R"({"step": ")" + std::string(step) + R"("})");
        REQUIRE_MESSAGE(reply.status == 200, reply.body);
    }
}

double number(const JsonValue& value, const std::string& name) {
    const JsonValue* const found = value.find(name);
    REQUIRE_MESSAGE(found != nullptr, name);
    return found->number();
}

const JsonValue& only_scenario(const JsonValue& answer) {
    return answer.find("scenarios")->items().at(0);
}

/// The fingerprint that a report names so.
std::string sha_after(const std::string& page, const std::string& name) {
    const auto at = page.find(name);
    REQUIRE(at != std::string::npos);
    return page.substr(page.find("&quot;: &quot;", at), 80);
}

/// One scenario of one change.
std::string what_if(const std::string& change) {
    return theatre + R"(, "scenarios": [{"name": "one", "changes": [)" + change + "]}]";
}

}  // namespace

TEST_CASE("A planner asks who is in time, and every settlement is in one of four classes") {
    const ServedSample sample;
    const JsonValue answer = answer_to(sample, "access", theatre);
    const JsonValue& total = *answer.find("total");
    CHECK(number(total, "in_time") + number(total, "beyond") + number(total, "no_route") +
              number(total, "unknown") ==
          doctest::Approx(number(total, "births_per_year")));
    CHECK(answer.find("settlements")->items().size() == 172);
    CHECK(answer.find("inputs")->find("sha256")->find("map") != nullptr);
}

TEST_CASE("However she travels, walking is never sooner, and a vehicle that must come never is") {
    const ServedSample sample;
    const auto in_time = [&](const std::string& transport) {
        return number(
            *answer_to(sample, "access", theatre + R"(, "transport": ")" + transport + '"')
                 .find("total"),
            "in_time");
    };
    const double at_hand = in_time("at_hand");
    CHECK(in_time("on_foot") <= at_hand);
    CHECK(in_time("sent") <= at_hand);
    CHECK(in_time("sent") > 0);
}

TEST_CASE("What comes to each place is held against its room, and the room is shared out whole") {
    const ServedSample sample;
    const std::string room = R"(, "capacities": [
        {"facility": "sorvrith-hospital", "births_per_year": 2000},
        {"facility": "pellumvo-hospital", "births_per_year": 500}])";
    const JsonValue answer = answer_to(sample, "competition", theatre + room);
    const JsonValue access = answer_to(sample, "access", theatre + room);
    double there = 0;
    const auto& places = answer.find("facilities")->items();
    for (std::size_t i = 0; i < places.size(); ++i) {
        CHECK(number(places[i], "births_per_year") ==
              number(access.find("facilities")->items()[i], "births_per_year"));
        const JsonValue& capacity = *places[i].find("capacity_births_per_year");
        if (capacity.kind() == JsonKind::number) {
            CHECK(number(places[i], "of_capacity") ==
                  doctest::Approx(number(places[i], "births_per_year") / capacity.number())
                      .epsilon(1e-3));
        }
        const bool is_scored = places[i].find("score")->kind() == JsonKind::number;
        there += is_scored && capacity.kind() == JsonKind::number ? capacity.number() : 0;
    }
    CHECK(there == 2500);
    // nothing is lost or made: births × room per birth is the room that anybody reaches
    double given = 0;
    for (const JsonValue& one : answer.find("settlements")->items()) {
        const JsonValue& score = *one.find("score");
        given +=
            score.kind() == JsonKind::number ? score.number() * number(one, "births_per_year") : 0;
    }
    CHECK(given == doctest::Approx(there).epsilon(1e-3));
    // a theatre whose room nobody says is named, not taken for none
    const auto& without = answer.find("without_capacity")->items();
    REQUIRE(without.size() == 1);
    CHECK(without[0].text() == "venzhoth-hospital");
    SUBCASE("in three steps it is shared out whole as well") {
        const JsonValue three =
            answer_to(sample, "competition", theatre + room + R"(, "catchment": "three_step")");
        double shared = 0;
        for (const JsonValue& one : three.find("settlements")->items()) {
            const JsonValue& score = *one.find("score");
            shared += score.kind() == JsonKind::number
                          ? score.number() * number(one, "births_per_year")
                          : 0;
        }
        CHECK(shared == doctest::Approx(2500).epsilon(1e-3));
    }
}

TEST_CASE("The overview holds twelve kinds of care in four seasons and hours") {
    const ServedSample sample;
    const JsonValue answer = answer_to(sample, "overview", theatre);
    REQUIRE(answer.find("rows")->items().size() == 12);
    for (const JsonValue& row : answer.find("rows")->items()) {
        const auto& cells = row.find("cells")->items();
        REQUIRE(cells.size() == 4);
        // dry noon, dry midnight, wet noon, wet midnight: wet is never better
        const auto in_time = [&](std::size_t i) {
            return number(*cells[i].find("total"), "in_time");
        };
        CHECK(in_time(2) <= in_time(0));
        CHECK(in_time(3) <= in_time(1));
    }
    // the row of caesareans is what asking for them gives
    const JsonValue alone =
        answer_to(sample, "access", theatre + R"(, "leave_at": "2026-03-04T12:00:00Z")");
    for (const JsonValue& row : answer.find("rows")->items()) {
        if (row.find("care")->text() == "operative_delivery") {
            CHECK(number(*row.find("cells")->items()[2].find("total"), "in_time") ==
                  number(*alone.find("total"), "in_time"));
        }
    }
}

TEST_CASE("Who is in time on a dry noon and not in the wet or at night is named, with the births") {
    const ServedSample sample;
    const JsonValue answer = answer_to(sample, "losses", theatre + R"(, "readiness": "by_hour")");
    const auto& losses = answer.find("losses")->items();
    REQUIRE(losses.size() == 3);
    for (const JsonValue& one : losses) {
        double sum = 0;
        for (const JsonValue& settlement : one.find("lost")->items()) {
            sum += number(settlement, "births_per_year");
        }
        CHECK(sum == doctest::Approx(number(one, "births_lost")));
        CHECK(number(one, "births_gained") == 0);  // nothing is better than a dry noon
    }
    // a wet midnight takes at least what a wet noon takes
    CHECK(number(losses[2], "births_lost") >= number(losses[0], "births_lost"));
    CHECK(number(losses[0], "births_lost") > 0);
}

TEST_CASE("Longer travel times never bring more in time; as told is as asked") {
    const ServedSample sample;
    const JsonValue answer = answer_to(sample, "sensitivity", theatre);
    const auto& points = answer.find("points")->items();
    REQUIRE(points.size() == 4);
    for (std::size_t i = 1; i < points.size(); ++i) {
        CHECK(number(*points[i].find("total"), "in_time") <=
              number(*points[i - 1].find("total"), "in_time"));
    }
    CHECK(number(*points[1].find("total"), "in_time") ==
          number(*answer_to(sample, "access", theatre).find("total"), "in_time"));
}

TEST_CASE("What is not known of the figures is told before the first map") {
    const ServedSample sample;
    const JsonValue trust = answer_to(sample, "trust", theatre);
    CHECK(number(trust, "settlements") == 172);
    const auto& far = trust.find("far_from_road")->items();
    REQUIRE(far.size() == 172);
    double before = 1e9;
    for (const JsonValue& one : far) {
        const JsonValue& metres = *one.find("off_road_m");
        const double distance = metres.kind() == JsonKind::null ? 1e9 : metres.number();
        CHECK(distance <= before);
        before = distance;
    }
    CHECK_FALSE(trust.find("speeds")->items().empty());
}

TEST_CASE("What-ifs: more care brings births in time, a closed road takes them, both are named") {
    const ServedSample sample;
    const JsonValue service = answer_to(
        sample, "what-ifs", what_if(R"({"kind": "service", "facility": "druvaneth-health-centre",
                              "capabilities": ["operative_delivery"]})"));
    CHECK(number(only_scenario(service), "births_more_in_time") > 0);
    CHECK_FALSE(only_scenario(service).find("gained")->items().empty());
    CHECK(only_scenario(service).find("lost")->items().empty());
    const JsonValue closed = answer_to(
        sample, "what-ifs", what_if(R"({"kind": "closed", "where": {"road": "Valley road"}})"));
    CHECK(number(only_scenario(closed), "births_more_in_time") <= 0);
    CHECK(only_scenario(closed).find("gained")->items().empty());
}

TEST_CASE("Every kind of change can be asked for, several at once, and none makes births vanish") {
    const ServedSample sample;
    const std::string all = R"({"kind": "hours", "facility": "pellumvo-hospital", "hours": "24/7"},
        {"kind": "facility", "latitude": 0.0345587, "longitude": -0.0992648,
         "capabilities": ["operative_delivery"]},
        {"kind": "waiting_home", "facility": "sorvrith-hospital", "births_per_year": 100},
        {"kind": "vehicle_post", "latitude": 0.03, "longitude": -0.09, "mobilisation_minutes": 10},
        {"kind": "bridged", "where": {"road": "Ford road"}},
        {"kind": "paved", "where": {"road": "Zhelappu track"}},
        {"kind": "new_bridge", "from": {"latitude": 0.0345587, "longitude": -0.0992648},
         "to": {"latitude": -0.2622173, "longitude": -0.0363123}, "speed_kmh": 60})";
    const JsonValue answer = answer_to(sample, "what-ifs", what_if(all));
    const JsonValue& one = only_scenario(answer);
    CHECK(one.find("changes")->items().size() == 7);
    CHECK(number(*one.find("total"), "births_per_year") ==
          doctest::Approx(number(*answer.find("before"), "births_per_year")));
    CHECK(number(one, "births_more_in_time") > 0);
}

TEST_CASE("A vehicle post counts where vehicles are sent") {
    const ServedSample sample;
    const JsonValue answer = answer_to(
        sample, "what-ifs",
        what_if(R"({"kind": "vehicle_post", "latitude": -0.4240951, "longitude": -0.2701358,
                    "mobilisation_minutes": 0})") +
            R"(, "transport": "sent")");
    CHECK(number(only_scenario(answer), "births_more_in_time") >= 0);
}

TEST_CASE("The best three upgrades come with their bound, the curve, and how sure their place is") {
    const ServedSample sample;
    const std::string both = R"("needs": ["operative_delivery", "blood_transfusion"],
                                "within_minutes": 60)";
    const JsonValue plan = answer_to(sample, "upgrades", both + R"(, "count": 3)");
    CHECK(plan.find("upgrades")->items().size() == 3);
    CHECK(plan.find("is_proven")->boolean());
    CHECK(number(plan, "births_gained") == number(plan, "no_plan_gains_more_than"));
    double before = 0;
    for (const JsonValue& point : plan.find("curve")->items()) {
        CHECK(number(point, "cost") <= number(point, "budget"));
        CHECK(number(point, "births_gained") >= before);
        before = number(point, "births_gained");
    }
    for (const JsonValue& upgrade : plan.find("upgrades")->items()) {
        CHECK(upgrade.find("ranks")->items().size() == 3);
    }
    SUBCASE("in phases the last year has at most what all the money at once brings") {
        const JsonValue phased = answer_to(sample, "upgrades", both + R"(, "phases": [1, 1, 1])");
        const auto& phases = phased.find("phases")->items();
        REQUIRE(phases.size() == 3);
        CHECK(number(phases[2], "births_gained") >= number(phases[0], "births_gained"));
        CHECK(number(phases[2], "births_gained") <= number(plan, "births_gained"));
    }
    SUBCASE("the least mean wait is never longer than that of another plan, nor the longest wait") {
        const auto plan_for = [&](const std::string& objective) {
            return answer_to(sample, "upgrades",
                             both + R"(, "count": 3, "objective": ")" + objective + '"');
        };
        const JsonValue median = plan_for("median");
        const JsonValue centre = plan_for("centre");
        for (const JsonValue* const one : {&median, &centre}) {
            CHECK(one->find("is_proven")->boolean());
            const JsonValue& minutes = *one->find("minutes");
            CHECK(number(minutes, "after") < number(minutes, "before"));
            CHECK(number(minutes, "after") ==
                  doctest::Approx(number(minutes, "no_plan_has_less_than")));
            // the most births in time are brought by the plan that asks for them
            CHECK(number(*one, "births_gained") <= number(plan, "births_gained") + 0.01);
            CHECK(one->find("upgrades")->items().size() <= 3);
            double worth = 0;
            for (const JsonValue& point : one->find("curve")->items()) {
                CHECK(number(point, "worth") >= worth - 0.01);
                worth = number(point, "worth");
            }
        }
        // minutes saved in the mean, over all births, are the worth
        const JsonValue& minutes = *median.find("minutes");
        CHECK(number(median, "worth") ==
              doctest::Approx((number(minutes, "before") - number(minutes, "after")) *
                              number(*median.find("before"), "births_per_year"))
                  .epsilon(1e-3));
        CHECK(plan.find("minutes")->kind() == JsonKind::null);
    }
    SUBCASE("where room is scarce fewer births gain than are in time") {
        const JsonValue scarce =
            answer_to(sample, "upgrades", both + R"(, "count": 3, "objective": "capacity",
                "capacities": [{"facility": "druvaneth-health-centre", "births_per_year": 10}])");
        CHECK(number(scarce, "worth") <= number(plan, "births_gained") + 0.01);
        CHECK(number(scarce, "worth") > 0);
        CHECK(scarce.find("without_capacity")->items().size() == 19);
    }
    SUBCASE("robust, no season has fewer than the worst") {
        const JsonValue robust =
            answer_to(sample, "upgrades", both + R"(, "count": 3, "robust": true)");
        const auto& seasons = robust.find("births_by_season")->items();
        REQUIRE(seasons.size() == 4);
        double least = 1e9;
        for (const JsonValue& births : seasons) {
            least = std::min(least, births.number());
        }
        CHECK(least == doctest::Approx(number(robust, "births_in_time_at_worst")));
    }
    SUBCASE("what is forced in is in, what is forced out is not") {
        const JsonValue forced = answer_to(sample, "upgrades", both + R"(, "count": 1, "costs": [
                {"facility": "thezhanna-health-post", "cost": 1, "choice": "in"}])");
        REQUIRE(forced.find("upgrades")->items().size() == 1);
        CHECK(forced.find("upgrades")->items()[0].find("facility")->text() ==
              "thezhanna-health-post");
    }
}

TEST_CASE("Roads and places are listed by the births that hang on them, worst first") {
    const ServedSample sample;
    const JsonValue answer = answer_to(sample, "links", theatre);
    double before = 1e9;
    for (const JsonValue& link : answer.find("links")->items()) {
        CHECK(number(link, "births_lost") <= before);
        before = number(link, "births_lost");
    }
    CHECK_FALSE(answer.find("links")->items().empty());
    CHECK_FALSE(answer.find("facilities")->items().empty());
    CHECK(answer.find("vehicles")->items().empty());
}

TEST_CASE("Indicators name what is missing, and never count it as nothing") {
    const ServedSample sample;
    const JsonValue answer =
        answer_to(sample, "indicators",
                  R"("last_month": "2026-02", "months": [{"facility": "kezhiru-clinic",
                      "month": "2026-02", "births": 12, "complications": 2}])");
    for (const JsonValue& one : answer.find("indicators")->items()) {
        const bool has_value = one.find("value")->kind() == JsonKind::number;
        CHECK(has_value == one.find("missing")->items().empty());
    }
    // a clinic does not do every basic function, so it is no functioning facility, and is named
    REQUIRE(answer.find("not_functioning")->items().size() == 1);
    CHECK(answer.find("not_functioning")->items()[0].text() == "kezhiru-clinic");
    // twenty facilities, twelve months, one of which came with two cells of seven
    CHECK(answer.find("missing")->items().size() == 20 * 12 - 1 + 5);
}

TEST_CASE(
    "Referred women are counted by what was suspected and how it ended, and nothing is judged") {
    RecordedSample sample;
    const auto refer = [&](const std::string& outcome, const std::string& more = "") {
        const std::string code = sample.open(more);
        for (const char* const step : {"accepted", "departed", "arrived", "received"}) {
            sample.clock().pass(600s);
            const Reply reply = sample.tell(code, R"({"step": ")" + std::string(step) + R"("})");
            REQUIRE_MESSAGE(reply.status == 200, reply.body);
        }
        if (!outcome.empty()) {
            const Reply reply = sample.tell(
                code, R"({"step": "closed", "persons": [{"person": "mother", "outcome": ")" +
                          outcome + R"("}]})");
            REQUIRE_MESSAGE(reply.status == 200, reply.body);
        }
    };
    refer("alive_well");
    refer("died");
    refer("");
    sample.open();  // on her way, received by nobody
    const std::string body = R"({"last_month": "2026-03", "from_journal": true, "months": [
        {"facility": "sorvrith-hospital", "month": "2026-03", "complications": 1}]})";
    const Reply reply = sample.send("POST", "/v1/coverage/indicators", body);
    REQUIRE_MESSAGE(reply.status == 200, reply.body);
    const JsonValue answer = parse_json(reply.body);
    const JsonValue& told = *answer.find("from_journal");
    CHECK(number(told, "received") == 3);
    CHECK(number(told, "without_outcome") == 1);
    CHECK(number(told, "other_conditions") == 0);  // raised pressure and a severe headache
    const auto& all = told.find("indicators")->items();
    REQUIRE(all.size() == 9);
    CHECK(number(all[4], "numerator") == 3);  // met need
    CHECK(number(all[6], "numerator") == 1);  // case fatality: one of three
    CHECK(number(all[6], "value") == doctest::Approx(1.0 / 3).epsilon(1e-4));
    CHECK(all[3].find("missing")->items().at(0).text() == "births");
    for (const JsonValue& one : all) {
        CHECK(one.find("acceptable")->kind() == JsonKind::null);
    }
    // the hospital told of one, and three were sent there
    REQUIRE(told.find("above_monthly")->items().size() == 1);
    CHECK(told.find("above_monthly")->items()[0].text() == "sorvrith-hospital 2026-03");
    SUBCASE("another month knows of none, and without being asked nothing is counted") {
        const JsonValue before =
            parse_json(sample
                           .send("POST", "/v1/coverage/indicators",
                                 R"({"last_month": "2026-02", "from_journal": true})")
                           .body);
        CHECK(number(*before.find("from_journal"), "received") == 0);
        const JsonValue unasked = parse_json(
            sample.send("POST", "/v1/coverage/indicators", R"({"last_month": "2026-03"})").body);
        CHECK(unasked.find("from_journal")->kind() == JsonKind::null);
    }
    SUBCASE("every suspicion that counts is one that the protocol has") {
        std::set<std::string> known;
        for (const triage::Rule& rule : sample.snapshot().get()->protocol.rules) {
            known.insert(rule.condition);
        }
        for (const std::string& one : default_indicator_profile().direct_conditions) {
            CHECK_MESSAGE(known.contains(one), one);
        }
    }
}

TEST_CASE("The report is one page that needs nothing else and ends with its inputs") {
    const ServedSample sample;
    const Reply reply =
        post(sample.port(), "/v1/coverage/report", "{" + theatre + R"(, "count": 3})");
    REQUIRE(reply.status == 200);
    const std::string& page = reply.body;
    CHECK(page.find("<svg") != std::string::npos);
    CHECK(page.find("sha256") != std::string::npos);
    CHECK(page.find("[server.") == std::string::npos);  // no text is missing
    for (const char* const outside : {"http:", "https:", "<script", "src=", "url("}) {
        CHECK_MESSAGE(page.find(outside) == std::string::npos, outside);
    }
    // what rests on nothing comes before the first picture
    CHECK(page.find("Before you read on") < page.find("<svg"));
}

TEST_CASE(
    "The report holds plans side by side, indicators and delays, as their own questions tell") {
    RecordedSample sample;
    for (const Seconds took : {1800s, 1900s, 2000s, 2100s}) {
        travel(sample, sample.open(), took);
    }
    const std::string plans = R"(, "leave_at": "2026-03-04T12:00:00Z", "scenarios": [
        {"name": "Theatre & blood nearer", "changes": [
            {"kind": "service", "facility": "druvaneth-health-centre",
             "capabilities": ["operative_delivery"]},
            {"kind": "waiting_home", "facility": "sorvrith-hospital", "births_per_year": 25}]},
        {"name": "No Valley road", "changes": [
            {"kind": "closed", "where": {"road": "Valley road"}}]}])";
    const std::string months = R"("last_month": "2026-02", "months": [
        {"facility": "sorvrith-hospital", "month": "2026-02", "births": 120, "caesareans": 18,
         "complications": 21, "direct_deaths": 1}])";
    const std::string body =
        "{" + theatre + plans + R"(, "count": 2, "indicators": {)" + months + "}}";
    const auto report = [&] {
        const Reply reply = sample.send("POST", "/v1/coverage/report", body);
        REQUIRE_MESSAGE(reply.status == 200, reply.body);
        CHECK(reply.body.find("[server.") == std::string::npos);
        return reply.body;
    };
    const auto row = [](const std::vector<std::string>& cells, std::size_t numbers_from) {
        std::string text = "<tr>";
        for (std::size_t i = 0; i < cells.size(); ++i) {
            text += (i < numbers_from ? "<td>" : "<td class=\"n\">") + cells[i] + "</td>";
        }
        return text + "</tr>";
    };
    const std::string on_the_way = "on the way with her";
    // four referrals: their number and nothing else
    const std::string few = report();
    CHECK(has(few, row({on_the_way, "4", "–", "–"}, 1)));
    travel(sample, sample.open(), 2200s);
    const std::string page = report();
    // 2000 and 2200 seconds, up to whole minutes
    CHECK(has(page, row({on_the_way, "5", "34 minutes", "37 minutes"}, 1)));
    CHECK(has(page, "to Sorvrith"));
    // each plan as its own question answers
    const JsonValue what_ifs =
        parse_json(sample.send("POST", "/v1/coverage/what-ifs", "{" + theatre + plans + "}").body);
    const auto figure = [](double value) { return std::to_string(std::lround(value)); };
    for (const JsonValue& one : what_ifs.find("scenarios")->items()) {
        const double more = number(one, "births_more_in_time");
        const JsonValue& total = *one.find("total");
        std::string name = one.find("name")->text();
        name = name == "No Valley road" ? name : "Theatre &amp; blood nearer";
        CHECK(has(page, row({name, figure(number(total, "in_time")),
                             figure(number(total, "share_at_least") * 100) + " %",
                             (more < 0 ? "" : "+") + figure(more)},
                            1)));
        for (const JsonValue& moved : one.find("gained")->items()) {
            CHECK(has(page, moved.find("name")->text()));
        }
    }
    CHECK(has(page, "<li>Valley road: closed</li>"));
    CHECK(has(page, "a waiting home with room for 25 births a year"));
    // each indicator with what was counted, and what is missing by name
    const JsonValue indicators =
        parse_json(sample.send("POST", "/v1/coverage/indicators", "{" + months + "}").body);
    std::size_t told = 0;
    std::size_t untold = 0;
    for (const JsonValue& one : indicators.find("indicators")->items()) {
        if (one.find("value")->kind() == JsonKind::number) {
            std::ostringstream share;
            share << std::fixed << std::setprecision(1) << number(one, "value") * 100 << " %";
            CHECK_MESSAGE(has(page, "</td><td class=\"n\">" + share.str() + "</td></tr>"),
                          share.str());
            ++told;
        } else {
            CHECK_FALSE(one.find("missing")->items().empty());
            ++untold;
        }
    }
    CHECK(told >= 4);
    CHECK(untold >= 2);
    CHECK(has(page, "cannot be told; missing: deaths in labour, deaths on the first day"));
    CHECK(has(page, "missing: how many facilities function<"));
    CHECK(has(page, "1 of 21"));  // deaths of women with complications: 4.8 %, not below 1 %
    CHECK(has(page, "not as it should be, by what was reported</td><td>below 1 %"));
    // what each was made from
    for (const char* const input :
         {"&quot;monthly_counts&quot;: 1", "&quot;monthly_counts_sha256&quot;: &quot;",
          "&quot;edition&quot;: &quot;un-2009&quot;", "&quot;journal&quot;: {",
          "&quot;road_changes&quot;: &quot;", "&quot;count&quot;: 2"}) {
        CHECK_MESSAGE(has(page, input), input);
    }
    // other counts have another fingerprint
    CHECK(sha_after(page, "monthly_counts_sha256") == sha_after(few, "monthly_counts_sha256"));
    const std::string other =
        sample.send("POST", "/v1/coverage/report", "{" + theatre + R"(, "count": 2})").body;
    CHECK(sha_after(other, "monthly_counts_sha256") != sha_after(page, "monthly_counts_sha256"));
    CHECK(has(other, "No plan was given to be compared."));
    SUBCASE("a plan that does not fit, a month that is none and a negative count are refused") {
        for (const std::string& more :
             {std::string(R"("scenarios": [{"name": "x", "changes": []}])"),
              std::string(R"("scenarios": [{"name": "x", "changes": [
                  {"kind": "closed", "where": {"road": "No such road"}}]}])"),
              std::string(R"("indicators": {"last_month": "2026-13"})"),
              std::string(R"("indicators": {"last_month": "2026-02", "months": [
                  {"facility": "kezhiru-clinic", "month": "2026-02", "births": -1}]})"),
              std::string(R"("indicators": {})"), std::string(R"("plans": [])")}) {
            const Reply reply = sample.send("POST", "/v1/coverage/report",
                                            "{" + theatre + R"(, "count": 2, )" + more + "}");
            CHECK_MESSAGE(reply.status == 400, more);
        }
    }
}

TEST_CASE("Bad questions are refused with every error, and nothing is changed") {
    const ServedSample sample;
    for (const auto& question : std::vector<std::pair<std::string, std::string>>{
             {"access", "{}"},
             {"access", R"({"needs": ["magic"]})"},
             {"access", R"({"needs": []})"},
             {"access", R"({"needs": ["blood_transfusion"], "within_minutes": -1})"},
             {"access", R"({"needs": ["blood_transfusion"], "colour": "blue"})"},
             {"competition", R"({"needs": ["blood_transfusion"]})"},
             {"competition", R"({"needs": ["blood_transfusion"], "capacities": [
                 {"facility": "kezhiru-clinic", "births_per_year": 5}]})"},
             {"competition", R"({"needs": ["blood_transfusion"], "capacities": [
                 {"facility": "sorvrith-hospital", "births_per_year": -5}]})"},
             {"competition", R"({"needs": ["blood_transfusion"], "capacities": [
                 {"facility": "sorvrith-hospital", "births_per_year": 5},
                 {"facility": "sorvrith-hospital", "births_per_year": 6}]})"},
             {"competition", R"({"needs": ["blood_transfusion"], "capacities": [
                 {"facility": "sorvrith-hospital", "births_per_year": 5}],
                 "zones": [{"until_minutes": 60, "weight": 1}, {"until_minutes": 30, "weight": 0.5}]})"},
             {"upgrades", R"({"needs": ["blood_transfusion"]})"},
             {"upgrades", R"({"needs": ["blood_transfusion"], "count": 0})"},
             {"upgrades", R"({"needs": ["blood_transfusion"], "budget": 0})"},
             {"upgrades", R"({"needs": ["blood_transfusion"], "count": 1, "phases": [1]})"},
             {"upgrades", R"({"needs": ["blood_transfusion"], "count": 1, "robust": true,
                              "objective": "median"})"},
             {"upgrades", R"({"needs": ["blood_transfusion"], "count": 1, "objective": "best"})"},
             {"indicators", R"({"last_month": "2026-13"})"},
             {"what-ifs", "{" + what_if(R"({"kind": "magic"})") + "}"},
             {"what-ifs", "{" + what_if(R"({"kind": "waiting_home", "facility": "sorvrith-hospital",
                                            "births_per_year": -5})") +
                              "}"},
             {"what-ifs", "{" + what_if(R"({"kind": "hours", "facility": "sorvrith-hospital",
                                            "hours": "sometimes"})") +
                              "}"},
             {"what-ifs",
              "{" + what_if(R"({"kind": "closed", "where": {"road": "No road"}})") + "}"}}) {
        const Reply reply = post(sample.port(), "/v1/coverage/" + question.first, question.second);
        CAPTURE(question.second);
        CAPTURE(reply.body);
        CHECK(reply.status == 400);
    }
    CHECK(post(sample.port(), "/v1/coverage/what-ifs",
               "{" + what_if(R"({"kind": "service", "facility": "nowhere",
                                "capabilities": ["blood_transfusion"]})") +
                   "}")
              .status == 404);
    // without a journal nothing can be counted in it
    CHECK(post(sample.port(), "/v1/coverage/indicators",
               R"({"last_month": "2026-02", "from_journal": true})")
              .status == 503);
    // without a journal nothing can be saved
    CHECK(get(sample.port(), "/v1/scenarios").status == 503);
}

TEST_CASE("A saved scenario reads the same, whatever becomes of the roads") {
    RecordedSample sample;
    const std::string body =
        "{" + what_if(R"({"kind": "closed", "where": {"road": "Valley road"}})") + "}";
    CHECK(sample.send("GET", "/v1/scenarios/valley").status == 404);
    const Reply saved = sample.send("PUT", "/v1/scenarios/valley", body);
    REQUIRE_MESSAGE(saved.status == 200, saved.body);
    REQUIRE(sample
                .send("POST", "/v1/road-conditions",
                      R"({"kind": "closed", "where": {"road": "Ford road"},
                            "until": "2026-03-05T09:40:00Z"})")
                .status == 200);
    CHECK(sample.send("GET", "/v1/scenarios/valley").body == saved.body);
    // asked anew it rests on other roads, and says so
    const JsonValue then = parse_json(saved.body);
    const JsonValue now = parse_json(sample.send("POST", "/v1/coverage/what-ifs", body).body);
    const auto fingerprint = [](const JsonValue& answer, const char* what) {
        return answer.find("inputs")->find("sha256")->find(what)->text();
    };
    CHECK(fingerprint(*then.find("answer"), "map") == fingerprint(now, "map"));
    CHECK(fingerprint(*then.find("answer"), "road_changes") != fingerprint(now, "road_changes"));
    const Reply again = sample.send("GET", "/v1/scenarios/valley/replay");
    REQUIRE_MESSAGE(again.status == 200, again.body);
    const JsonValue replay = parse_json(again.body);
    REQUIRE(replay.find("changed")->items().size() == 1);
    CHECK(replay.find("changed")->items()[0].find("what")->text() == "road_changes");
    CHECK(to_json(*replay.find("then")) == to_json(*then.find("answer")));
    CHECK(to_json(*replay.find("now")->find("before")) == to_json(*now.find("before")));
    // saved again, and asked an hour later: the recorded moment counts, so nothing has changed
    REQUIRE(sample.send("PUT", "/v1/scenarios/later", body).status == 200);
    sample.clock().pass(3600s);
    const JsonValue same = parse_json(sample.send("GET", "/v1/scenarios/later/replay").body);
    CHECK(same.find("inputs_are_the_same")->boolean());
    CHECK(same.find("figures_are_the_same")->boolean());
    CHECK(sample.send("GET", "/v1/scenarios/nothing/replay").status == 404);
    CHECK(sample.send("PUT", "/v1/scenarios/two%20words", body).status == 400);
    const JsonValue list = parse_json(sample.send("GET", "/v1/scenarios").body);
    REQUIRE(list.find("scenarios")->items().size() == 2);
    CHECK(list.find("scenarios")->items()[1].find("name")->text() == "valley");
    CHECK(sample.send("PUT", "/v1/scenarios/bad", "{}").status == 400);
    CHECK(parse_json(sample.send("GET", "/v1/scenarios").body).find("scenarios")->items().size() ==
          2);
}

TEST_CASE("What journeys took is told of many, never of a few, and practice does not count") {
    RecordedSample sample;
    const auto transport = [&] {
        const JsonValue answer = parse_json(sample.send("GET", "/v1/coverage/journeys").body);
        const JsonValue& all = answer.find("groups")->items().at(0);
        return std::pair(number(all, "referrals"), to_json(all.find("delays")->items().at(6)));
    };
    for (const Seconds took : {1800s, 1900s, 2000s, 2100s}) {
        travel(sample, sample.open(), took);
    }
    CHECK(transport() ==
          std::pair(4.0, std::string(R"({"delay":"transport","recorded":4,"median_s":null,)"
                                     R"("ninetieth_s":null})")));
    travel(sample, sample.open(), 2200s);
    CHECK(transport() ==
          std::pair(5.0, std::string(R"({"delay":"transport","recorded":5,"median_s":2000,)"
                                     R"("ninetieth_s":2200})")));
    const std::string whole = sample.send("GET", "/v1/coverage/journeys").body;
    CHECK(whole.find("\"speed_factor\":null") != std::string::npos);  // five are too few for that
}

TEST_CASE("Twenty journeys of twice the modelled time offer slower roads, and change nothing") {
    RecordedSample sample;
    const std::string before = sample.snapshot().get()->speeds_text;
    Seconds modelled{};
    const auto travel_often = [&](int count) {
        for (int i = 0; i < count; ++i) {
            const std::string code = sample.open();
            const auto record = sample.records().find(code);
            REQUIRE(record->way->travel_time.has_value());
            modelled = record->way->travel_time->typical;
            travel(sample, code, 2 * modelled);
        }
    };
    const auto told = [&] { return parse_json(sample.send("GET", "/v1/coverage/journeys").body); };
    travel_often(4);
    const JsonValue few = told();
    for (const JsonValue& one : few.find("classes")->items()) {
        CHECK(one.find("time_factor")->kind() == JsonKind::null);  // too few to say anything
    }
    travel_often(16);
    const JsonValue answer = told();
    CHECK(number(answer, "ways") == 20);
    const auto& changes = answer.find("offer")->find("changes")->items();
    REQUIRE_FALSE(changes.empty());
    for (const JsonValue& one : changes) {
        CHECK(number(one, "time_factor") == doctest::Approx(2).epsilon(0.25));
        CHECK(number(one, "journeys") == 20);
    }
    CHECK(sample.snapshot().get()->speeds_text == before);
}

TEST_CASE("A question that takes too long is stopped, and its place is free again") {
    PlanningDesk desk{std::chrono::milliseconds{0}, 4};
    CHECK_THROWS_AS(desk.run([](const coverage::Work& work) {
        work.at("something", 0.5);
        return HttpResponse{};
    }),
                    Unavailable);
    CHECK(desk.run([](const coverage::Work&) { return HttpResponse{204}; }).status == 204);
}

TEST_CASE("Where nobody may wait any more, a further question is refused at once") {
    PlanningDesk desk{std::chrono::seconds{5}, 0};
    CHECK_THROWS_AS(desk.run([](const coverage::Work&) { return HttpResponse{}; }), Unavailable);
}

}  // namespace waybourne::server::test
