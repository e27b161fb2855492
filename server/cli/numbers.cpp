#include <fmt/format.h>

#include <algorithm>
#include <ostream>

#include "server/cli/commands.hpp"
#include "server/security/keys.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

std::string to_line(const Number& number) {
    std::string facilities;
    for (const FacilityId& facility : number.caller.facilities) {
        facilities += " " + facility.value();
    }
    return fmt::format(
        "{}  {}  {}{}{}{}  since {}", number.number, number.caller.who, to_name(number.caller.role),
        facilities, number.caller.practice ? "  practice only" : "",
        number.language.empty() ? "" : "  " + number.language, to_rfc3339(number.added_at));
}

}  // namespace

int run_numbers_add(const KeysOptions& options, Terminal& terminal) {
    Number number;
    number.number = parse_number(options.number);
    number.caller.who = options.account;
    number.caller.role = parse_role(options.role);
    number.caller.practice = options.practice;
    number.language = options.language;
    for (const std::string& facility : options.facilities) {
        number.caller.facilities.emplace_back(facility);
    }
    number.added_at = SystemClock{}.now();
    change_keys(options.file, [&](const Keys& keys) {
        auto numbers = keys.numbers();
        numbers.push_back(number);
        return Keys{keys.all(), std::move(numbers)};
    });
    if (options.json) {
        JsonWriter json{2};
        json.begin_object();
        write_number_members(json, number);
        terminal.out << json.end_object().take() << '\n';
    } else {
        terminal.out << to_line(number) << '\n';
    }
    return 0;
}

int run_numbers_list(const KeysOptions& options, Terminal& terminal) {
    const Keys keys = read_keys(options.file);
    if (options.json) {
        JsonWriter json{2};
        json.begin_object().key("numbers").begin_list();
        for (const Number& number : keys.numbers()) {
            json.begin_object();
            write_number_members(json, number);
            json.end_object();
        }
        terminal.out << json.end_list().end_object().take() << '\n';
        return 0;
    }
    for (const Number& number : keys.numbers()) {
        terminal.out << to_line(number) << '\n';
    }
    return 0;
}

int run_numbers_remove(const KeysOptions& options, Terminal& terminal) {
    const std::string meant = parse_number(options.number);
    change_keys(options.file, [&](const Keys& keys) {
        auto left = keys.numbers();
        if (std::erase_if(left, [&](const Number& one) { return one.number == meant; }) == 0) {
            throw NotFound("no such number is registered");
        }
        return Keys{keys.all(), std::move(left)};
    });
    if (options.json) {
        JsonWriter json{2};
        terminal.out << json.begin_object().member("removed", meant).end_object().take() << '\n';
    } else {
        terminal.out << meant << " is shut out\n";
    }
    return 0;
}

}  // namespace waybourne::server
