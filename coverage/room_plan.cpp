#include "coverage/room_plan.hpp"

#include <algorithm>

#include "coverage/internal/location_state.hpp"
#include "coverage/internal/option_columns.hpp"

namespace waybourne::coverage {

namespace {

using Term = IntegerProgramme::Term;
constexpr double none = IntegerProgramme::without_limit;

/// Adds births of each settlement to each place. The options are columns already.
class Sharing {
public:
    Sharing(const RoomModel& model, IntegerProgramme& programme)
        : model_(model), programme_(programme), by_settlement_(model.births.size()) {}

    /// @param option whose column opens the place; none: it is there
    void add(const Room& room, const std::optional<int>& option) {
        std::vector<Term> all;
        for (const std::uint32_t settlement : room.in_time) {
            const double births = model_.births[settlement];
            if (births <= 0) {
                continue;
            }
            const int column = programme_.add_column(1, 0, births, false);
            by_settlement_[settlement].push_back({column, 1});
            all.push_back({column, 1});
            if (option) {
                programme_.add_row({{column, 1}, {*option, -births}}, -none, 0);
            }
        }
        if (!room.births || all.empty()) {
            return;
        }
        if (option) {
            all.push_back({*option, -*room.births});
        }
        programme_.add_row(std::move(all), -none, option ? 0 : *room.births);
    }

    void finish() {
        for (std::size_t i = 0; i < by_settlement_.size(); ++i) {
            if (!by_settlement_[i].empty()) {
                programme_.add_row(std::move(by_settlement_[i]), -none, model_.births[i]);
            }
        }
    }

private:
    const RoomModel& model_;
    IntegerProgramme& programme_;
    std::vector<std::vector<Term>> by_settlement_;
};

void add_rooms(const RoomModel& model, IntegerProgramme& programme) {
    Sharing sharing(model, programme);
    for (const Room& room : model.there) {
        sharing.add(room, std::nullopt);
    }
    for (std::size_t option = 0; option < model.with.size(); ++option) {
        sharing.add(model.with[option], static_cast<int>(option));
    }
    sharing.finish();
}

}  // namespace

double births_with_room(const RoomModel& model, std::span<const std::uint32_t> options) {
    RoomModel fixed{model.births, {}, model.there, {}};
    for (const std::uint32_t option : options) {
        fixed.there.push_back(model.with[option]);
    }
    IntegerProgramme programme;
    add_rooms(fixed, programme);
    constexpr Seconds time{60};
    return programme.is_empty() ? 0 : programme.maximise(time, 0).value;
}

Plan room_plan(const RoomModel& model, const Limit& limit, Seconds time, const Work& work) {
    LocationModel checked;
    checked.options = model.options;
    check_limit(checked, limit);
    work.at("integer programme", -1);
    IntegerProgramme programme;
    add_options(model.options, 1, limit, programme);
    add_rooms(model, programme);
    const auto solution = programme.maximise(time, 0);
    const double now = births_with_room(model, {});
    Plan plan;
    plan.options = chosen_of(solution, model.options.size());
    if (solution.columns.empty()) {
        for (std::uint32_t option = 0; option < model.options.size(); ++option) {
            if (model.options[option].choice == Choice::forced_in) {
                plan.options.push_back(option);
            }
        }
    }
    plan.cost = cost_of(model.options, plan.options);
    plan.value = births_with_room(model, plan.options) - now;
    double all = 0;
    for (const double births : model.births) {
        all += births;
    }
    // a programme that was cut off before its first bound bounds nothing
    const bool is_bounded = !solution.columns.empty() || solution.bound > 0;
    plan.bound = std::max(plan.value, (is_bounded ? std::min(solution.bound, all) : all) - now);
    return plan;
}

}  // namespace waybourne::coverage
