#include "server/security/keys.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <ostream>

#include "server/cli/commands.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

std::string to_line(const Key& key) {
    std::string facilities;
    for (const FacilityId& facility : key.caller.facilities) {
        facilities += " " + facility.value();
    }
    return fmt::format("{}  {}  {}{}{}  since {}", key.id, key.caller.who, to_name(key.caller.role),
                       facilities, key.caller.practice ? "  practice only" : "",
                       to_rfc3339(key.added_at));
}

bool is_meant(const Key& key, const std::string& name) {
    return key.id == name || key.caller.who == name;
}

}  // namespace

int run_keys_add(const KeysOptions& options, Terminal& terminal) {
    Caller caller;
    caller.who = options.account;
    caller.role = parse_role(options.role);
    caller.practice = options.practice;
    for (const std::string& facility : options.facilities) {
        caller.facilities.emplace_back(facility);
    }
    const NewKey made = make_key(caller, SystemClock{}.now());
    change_keys(options.file, [&](const Keys& keys) {
        std::vector<Key> all = keys.all();
        all.push_back(made.key);
        return Keys{std::move(all), keys.numbers()};
    });
    if (options.json) {
        JsonWriter json{2};
        json.begin_object().member("key", made.text);
        write_key_members(json, made.key);
        terminal.out << json.end_object().take() << '\n';
    } else {
        terminal.out << made.text << '\n' << std::flush;
        terminal.err << "waybourne: this is the only time that the key is shown\n";
    }
    return 0;
}

int run_keys_list(const KeysOptions& options, Terminal& terminal) {
    const Keys keys = read_keys(options.file);
    if (options.json) {
        JsonWriter json{2};
        json.begin_object().key("keys").begin_list();
        for (const Key& key : keys.all()) {
            json.begin_object();
            write_key_members(json, key);
            json.end_object();
        }
        terminal.out << json.end_list().end_object().take() << '\n';
        return 0;
    }
    for (const Key& key : keys.all()) {
        terminal.out << to_line(key) << '\n';
    }
    return 0;
}

int run_keys_remove(const KeysOptions& options, Terminal& terminal) {
    change_keys(options.file, [&](const Keys& keys) {
        std::vector<Key> left;
        std::copy_if(keys.all().begin(), keys.all().end(), std::back_inserter(left),
                     [&](const Key& key) { return !is_meant(key, options.account); });
        if (left.size() == keys.all().size()) {
            throw NotFound(options.account + ": no such account or key");
        }
        return Keys{std::move(left), keys.numbers()};
    });
    if (options.json) {
        JsonWriter json{2};
        terminal.out << json.begin_object().member("removed", options.account).end_object().take()
                     << '\n';
    } else {
        terminal.out << options.account << " is shut out within a minute of its next contact\n";
    }
    return 0;
}

}  // namespace waybourne::server
