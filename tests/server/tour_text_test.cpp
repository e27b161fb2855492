#include <doctest/doctest.h>

#include "referral/text_message.hpp"
#include "server/json/referral_body.hpp"
#include "tests/server/has.hpp"
#include "tests/server/texting_sample.hpp"

// What the driver who fetches several women reads. That the order is the best one is shown in
// tests/dispatch. Two messages hold 306 characters (tests/referral/text_message_test.cpp).

namespace waybourne::server::test {

namespace {

Keys driver_in(const std::string& language) {
    auto numbers = sample_numbers().numbers();
    for (Number& number : numbers) {
        number.language = language;
    }
    return Keys{{}, std::move(numbers)};
}

/// What a dispatcher accepted: vehicle-3 fetches them in this order.
void accept_tour(TextingSample& texting, const std::vector<std::string>& order,
                 const std::vector<std::string>& of) {
    Records& records = texting.sample().records();
    for (const std::string& code : of) {
        StoredBody body;
        AcceptedTransport transport;
        transport.kind = dispatch::WayKind::sent_vehicle;
        transport.vehicles = {VehicleId{"vehicle-3"}};
        transport.tour = order;
        transport.accepted_at = texting.clock().now();
        body.transport = transport;
        journal::Append append =
            entry_about(code, transport_planned_kind, body, records.find(code)->version);
        append.at = texting.clock().now();
        append.who = "dispatcher";
        records.append(append);
    }
}

std::string woman_from(const std::string& place, const std::string& sender,
                       const std::string& findings) {
    return R"({"request": {"findings": {"status": "pregnant", "gestation_weeks": 34, )" + findings +
           R"(}, "from": )" + place + R"(}, "sender": ")" + sender +
           R"(", "to": "sorvrith-hospital"})";
}

std::string open_from(TextingSample& texting, const std::string& place, const std::string& sender) {
    const Reply opened = texting.sample().send(
        "POST", "/v1/referrals", woman_from(place, sender, R"("severe_headache": "yes")"));
    REQUIRE_MESSAGE(opened.status == 201, opened.body);
    const std::string code = text_at(parse_json(opened.body), "code");
    const Reply sent =
        texting.sample().tell(code, R"({"step": "vehicle_assigned", "vehicle": "vehicle-3"})");
    REQUIRE_MESSAGE(sent.status == 200, sent.body);
    return code;
}

std::string at_clinic(const std::string& clinic) {
    return R"({"facility": ")" + clinic + "\"}";
}

struct Tour {
    std::string first;
    std::string second;
    std::string third;
};

/// Kezhiru, then a house, then Luzhenni.
Tour three_on_a_tour(TextingSample& texting) {
    const auto snapshot = texting.sample().snapshot().get();
    const GeoPoint& near = snapshot->facilities.facility(FacilityId{"tamvrelo-clinic"}).point;
    const std::string house = R"({"latitude": )" + std::to_string(near.latitude().degrees) +
                              R"(, "longitude": )" + std::to_string(near.longitude().degrees) + "}";
    Tour tour;
    tour.third = open_from(texting, at_clinic("luzhenni-clinic"), "luzhenni-clinic");
    tour.first = open_from(texting, at_clinic("kezhiru-clinic"), "kezhiru-clinic");
    tour.second = open_from(texting, house, "tamvrelo-clinic");
    accept_tour(texting, {tour.first, tour.second, tour.third},
                {tour.first, tour.second, tour.third});
    return tour;
}

/// The text about one of them that came last.
std::string last_about(TextingSample& texting, const std::string& begins, const std::string& code) {
    std::string found;
    for (const std::string& text : texting.gateway().texts_to(driver_number)) {
        found = has(text, begins + code) ? text : found;
    }
    return found;
}

}  // namespace

TEST_CASE(
    "The driver of a tour reads whom to fetch first, second and third, where, and then where to") {
    for (const std::array<const char*, 4>& words : {
             std::array{"en", "ORDER. Case ", "tour. Fetch in order 1) ", "Then all to "},
             std::array{"fr", "ORDRE. Cas ", "tournée. Cherchez 1) ", "Puis toutes à "},
             std::array{"sw", "AGIZO. Kesi ", "Wachukue 1) ", "Kisha wote "},
         }) {
        CAPTURE(words[0]);
        TextingSample texting{{}, {}, driver_in(words[0])};
        const Tour tour = three_on_a_tour(texting);
        texting.outbox().work();
        CHECK(texting.gateway().texts_to(driver_number).size() == 3);  // one for each of them
        for (const std::string& code : {tour.first, tour.second, tour.third}) {
            const std::string text = last_about(texting, words[1], code);
            CAPTURE(text);
            const auto first = text.find(words[2] + tour.first + " Kezhiru");
            const auto second = text.find(", 2) " + tour.second + " ");
            const auto third = text.find(", 3) " + tour.third + " Luzhenni");
            const auto place = text.find(words[3]);
            CHECK(first != std::string::npos);
            CHECK(first < second);
            CHECK(second < third);
            CHECK(third < place);
            CHECK(place != std::string::npos);
            CHECK(has(text, "Sorvrith"));
            // the house is told by its position, whole, and whom to ask there
            CHECK(has(text.substr(second, third - second), ","));
            CHECK(has(text.substr(second, third - second), "("));
            CHECK(referral::text_message_characters(text).value() <=
                  referral::two_text_messages_length);
            // nothing that was found: his phone is shared (clinical.md, i.1)
            CHECK_FALSE(has(text, "34 wk"));
        }
        CHECK(texting.outbox().work() == 0);
    }
}

TEST_CASE(
    "On a tour each step is told with its code, and one digit says that all orders have come") {
    TextingSample texting;
    const Tour tour = three_on_a_tour(texting);
    texting.outbox().work();
    const std::string taken = texting.text(driver_number, "7");
    for (const std::string& code : {tour.first, tour.second, tour.third}) {
        CHECK(has(taken, code));
    }
    texting.clock().pass(1h);
    texting.outbox().work();
    for (const std::string& code : {tour.first, tour.second, tour.third}) {
        const JsonValue shown = texting.sample().show(code);
        for (const JsonValue& alert : at(shown, "overdue").items()) {
            CHECK(text_at(alert, "step") != "order");
        }
    }
    CHECK(has(texting.text(driver_number, "7"), "Which case?"));  // once is enough
    CHECK(has(texting.text(driver_number, "6"), "Which case?"));
    CHECK(has(texting.text(driver_number, "6 " + tour.first), "Noted"));
    CHECK(texting.state(tour.first) == "with_the_woman");
    CHECK(texting.state(tour.second) == "opened");
}

TEST_CASE(
    "When the tour changes its driver reads the new order, and the old one does not come back") {
    TextingSample texting;
    const Tour tour = three_on_a_tour(texting);
    texting.outbox().work();
    const auto accept_later = [&](const std::vector<std::string>& order,
                                  const std::vector<std::string>& of) {
        texting.clock().pass(1min);
        accept_tour(texting, order, of);
        texting.outbox().work();
    };
    const std::vector<std::string> before{tour.first, tour.second, tour.third};
    const std::vector<std::string> turned{tour.second, tour.first, tour.third};
    accept_later(turned, before);
    CHECK(texting.gateway().texts_to(driver_number).size() == 6);
    CHECK(has(last_about(texting, "CHANGED ORDER. Case ", tour.third), "1) " + tour.second));
    accept_later(turned, before);  // accepted once more: no news
    CHECK(texting.gateway().texts_to(driver_number).size() == 6);
    accept_later(before, before);  // and back again: news once more
    CHECK(texting.gateway().texts_to(driver_number).size() == 9);
    CHECK(has(last_about(texting, "CHANGED ORDER. Case ", tour.third), "1) " + tour.first));
    SUBCASE("one of them does not come: the driver is told, and she is in no later order") {
        CHECK(texting.sample()
                  .tell(tour.second, R"({"step": "cancelled", "reason": "well"})")
                  .status == 200);
        accept_later({tour.first, tour.third}, {tour.first, tour.third});
        const std::string text = last_about(texting, "CHANGED ORDER. Case ", tour.first);
        CHECK(has(text, "1) " + tour.first));
        CHECK(has(text, "2) " + tour.third));
        CHECK_FALSE(has(text, tour.second));
        CHECK(has(last_about(texting, "Case ", tour.second), "has ended"));
    }
    SUBCASE("fetched alone after all: the order is that of one woman") {
        accept_later({}, {tour.first});
        const std::string text = last_about(texting, "CHANGED ORDER. Case ", tour.first);
        CHECK(has(text, "fetch woman at Kezhiru"));
        CHECK_FALSE(has(text, "tour"));
    }
    SUBCASE("another vehicle, given by hand, is on no tour") {
        CHECK(texting.sample()
                  .tell(tour.first, R"({"step": "vehicle_assigned", "vehicle": "vehicle-4"})")
                  .status == 200);
        texting.outbox().work();
        const auto texts = texting.gateway().texts_to(other_driver_number);
        REQUIRE(texts.size() == 1);
        CHECK(has(texts[0], "fetch woman at Kezhiru"));
    }
}

TEST_CASE("Who accepts two women for one vehicle accepts the order in which it fetches them") {
    RecordedSample sample;
    // as the sample's own, with room for two who lie
    auto roomy = std::make_shared<Snapshot>(*sample.snapshot().get());
    for (dispatch::Vehicle& vehicle : roomy->vehicles) {
        vehicle.seats = {2, 2};
    }
    sample.snapshot().publish(roomy);
    // a day's time limit: DVT-1 of the protocol
    const std::string who_can_wait = R"("calf_swelling": "yes")";
    std::vector<std::string> codes;
    for (const char* clinic : {"kezhiru-clinic", "luzhenni-clinic"}) {
        const Reply opened = sample.send("POST", "/v1/referrals",
                                         woman_from(at_clinic(clinic), clinic, who_can_wait));
        REQUIRE_MESSAGE(opened.status == 201, opened.body);
        codes.push_back(text_at(parse_json(opened.body), "code"));
    }
    const Reply seen = sample.send("GET", "/v1/transport-plans");
    const auto carried = [](const std::string& code) {
        return R"({"referral": ")" + code + R"(", "vehicles": ["sorvrith-1"]})";
    };
    const Reply accepted =
        sample.send("POST", "/v1/transport-plans/accepted",
                    R"({"carried": [)" + carried(codes[0]) + ", " + carried(codes[1]) + "]}",
                    "If-Match: " + seen.field("ETag") + "\r\n");
    REQUIRE_MESSAGE(accepted.status == 200, accepted.body);
    const auto tour = texts_at(sample.show(codes[0]), "transport.tour");
    CHECK(tour.size() == 2);
    CHECK(texts_at(sample.show(codes[1]), "transport.tour") == tour);
    // it stands after a restart: the record is made of the journal alone
    const auto record =
        read_record(sample.records().journal(), codes[0], sample.records().sequence());
    CHECK(record->tour() == tour);
    // the one who is fetched first is reached first
    CHECK(text_at(sample.show(tour[0]), "transport.with_her.allow") <
          text_at(sample.show(tour[1]), "transport.with_her.allow"));
}

}  // namespace waybourne::server::test
