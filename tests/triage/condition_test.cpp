#include "triage/condition.hpp"

#include <doctest/doctest.h>

namespace waybourne::triage {
namespace {

using enum Answer;
using Kind = Condition::Kind;

/// Two signs to put together; -1 is not asked.
class TwoSigns {
public:
    Answer of(Kind kind, Answer first, Answer second) {
        const ConditionId a = table_.add({.kind = Kind::one_of, .field = 0, .values = 2});
        const ConditionId b = table_.add({.kind = Kind::one_of, .field = 1, .values = 2});
        Situation situation(2);
        put(situation, 0, first);
        put(situation, 1, second);
        const bool alone = kind != Kind::all && kind != Kind::any;
        const ConditionId whole =
            table_.add({.kind = kind, .parts = alone ? std::vector{a} : std::vector{a, b}});
        std::vector<Answer> truths(table_.size());
        table_.evaluate_all(situation, truths);
        CHECK(truths[whole] == table_.evaluate(whole, situation));
        return truths[whole];
    }

private:
    static void put(Situation& situation, FieldId field, Answer answer) {
        if (answer != unknown) {
            situation.set(field, answer == yes ? 1 : 0);
        }
    }
    ConditionTable table_{2};
};

TEST_CASE("And, or and not keep what is unknown unknown, unless the rest already decides") {
    // Source: Kleene, Introduction to Metamathematics (1952), § 64, from memory; e.1.2.
    struct Row {
        Answer first, second, both, either;
    };
    const Row table[] = {{yes, yes, yes, yes},         {yes, no, no, yes},
                         {yes, unknown, unknown, yes}, {no, no, no, no},
                         {no, unknown, no, unknown},   {unknown, unknown, unknown, unknown}};
    for (const Row& row : table) {
        CHECK(TwoSigns().of(Kind::all, row.first, row.second) == row.both);
        CHECK(TwoSigns().of(Kind::all, row.second, row.first) == row.both);
        CHECK(TwoSigns().of(Kind::any, row.first, row.second) == row.either);
        CHECK(TwoSigns().of(Kind::any, row.second, row.first) == row.either);
    }
    CHECK(TwoSigns().of(Kind::opposite, yes, no) == no);
    CHECK(TwoSigns().of(Kind::opposite, no, no) == yes);
    CHECK(TwoSigns().of(Kind::opposite, unknown, no) == unknown);
}

TEST_CASE("Surely, not surely and unanswered are themselves never unknown") {
    // Source: e.1.3.
    struct Row {
        Answer part, sure, unless_sure, unanswered;
    };
    for (const Row& row :
         {Row{yes, yes, no, no}, Row{no, no, yes, no}, Row{unknown, no, yes, yes}}) {
        CHECK(TwoSigns().of(Kind::sure, row.part, no) == row.sure);
        CHECK(TwoSigns().of(Kind::unless_sure, row.part, no) == row.unless_sure);
        CHECK(TwoSigns().of(Kind::unanswered, row.part, no) == row.unanswered);
    }
}

/// Pulse is field 0, systolic field 1; at least so many tenths.
Answer shock_index(double tenths, std::optional<double> pulse, std::optional<double> systolic) {
    ConditionTable table(2);
    const std::size_t ratio = table.add_ratio({"shock_index", "pulse over systolic", 0, 1, 140});
    const ConditionId id = table.add(
        {.kind = Kind::ratio_in, .field = ratio, .range = {Limit{tenths, true}, std::nullopt}});
    Situation situation(2);
    if (pulse) {
        situation.set(0, *pulse);
    }
    if (systolic) {
        situation.set(1, *systolic);
    }
    return table.evaluate(id, situation);
}

TEST_CASE("A shock index of exactly 0.9 counts, with no rounding") {
    // Source: clinical specification b: 10 x pulse >= 9 x min(systolic, 140).
    CHECK(shock_index(9, 90, 100) == yes);
    CHECK(shock_index(9, 89, 100) == no);
    CHECK(shock_index(9, 90, 101) == no);
    CHECK(shock_index(17, 119, 70) == yes);
    CHECK(shock_index(17, 118, 70) == no);
}

TEST_CASE("A high pressure does not hide a fast pulse: above 140 it counts as 140") {
    CHECK(shock_index(9, 126, 200) == yes);
    CHECK(shock_index(9, 125, 200) == no);
}

TEST_CASE("A pulse too fast for any pressure is a sign even before the pressure is known") {
    CHECK(shock_index(9, 126, std::nullopt) == yes);
    CHECK(shock_index(9, 125, std::nullopt) == unknown);
    CHECK(shock_index(9, std::nullopt, 60) == unknown);
}

TEST_CASE("The same condition stands in the table once") {
    ConditionTable table(2);
    const Condition fever{
        .kind = Kind::number_in, .field = 1, .range = {Limit{38, true}, std::nullopt}};
    CHECK(table.add(fever) == table.add(fever));
    Condition more = fever;
    more.range.from->included = false;
    CHECK(table.add(more) != table.add(fever));
    CHECK(table.size() == 2);
    CHECK(table.cuts(1) == std::vector<Cut>{{38, false}, {38, true}});
    CHECK(table.dependents(1).size() == 2);
    CHECK(table.dependents(0).empty());
}

}  // namespace
}  // namespace waybourne::triage
