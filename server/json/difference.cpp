#include "server/json/difference.hpp"

#include <algorithm>

#include "server/json/writer.hpp"

namespace waybourne::server {

namespace {

void add(const JsonValue* then, const JsonValue* now, const std::string& pointer,
         std::vector<Difference>& differences) {
    differences.push_back(
        {pointer, then == nullptr ? "" : to_json(*then), now == nullptr ? "" : to_json(*now)});
}

void compare_lists(const JsonValue& then, const JsonValue& now, const std::string& pointer,
                   std::vector<Difference>& differences) {
    const auto& before = then.items();
    const auto& after = now.items();
    for (std::size_t i = 0; i < std::max(before.size(), after.size()); ++i) {
        const std::string step = pointer + "/" + std::to_string(i);
        if (i < before.size() && i < after.size()) {
            add_differences(before[i], after[i], step, differences);
        } else {
            add(i < before.size() ? &before[i] : nullptr, i < after.size() ? &after[i] : nullptr,
                step, differences);
        }
    }
}

void compare_members(const JsonValue& then, const JsonValue& now, const std::string& pointer,
                     std::vector<Difference>& differences) {
    for (const JsonMember& member : then.members()) {
        const std::string step = pointer + "/" + pointer_step(member.name);
        if (const JsonValue* other = now.find(member.name)) {
            add_differences(member.value, *other, step, differences);
        } else {
            add(&member.value, nullptr, step, differences);
        }
    }
    for (const JsonMember& member : now.members()) {
        if (then.find(member.name) == nullptr) {
            add(nullptr, &member.value, pointer + "/" + pointer_step(member.name), differences);
        }
    }
}

}  // namespace

void add_differences(const JsonValue& then, const JsonValue& now, const std::string& pointer,
                     std::vector<Difference>& differences) {
    const bool is_line = pointer.ends_with("/geometry");
    if (then.kind() == now.kind() && then.kind() == JsonKind::list) {
        compare_lists(then, now, pointer, differences);
    } else if (then.kind() == now.kind() && then.kind() == JsonKind::object && !is_line) {
        compare_members(then, now, pointer, differences);
    } else if (to_json(then) != to_json(now)) {
        if (is_line) {
            differences.push_back({pointer, R"("one line")", R"("another line")"});
        } else {
            add(&then, &now, pointer, differences);
        }
    }
}

}  // namespace waybourne::server
