#include "triage/internal/possible_truth.hpp"

#include <array>

namespace waybourne::triage {

namespace {

constexpr Truths everything = holds | does_not_hold;

constexpr Truths mirrored(Truths truths) {
    const bool no = (truths & only(Answer::no)) != 0;
    const bool yes = (truths & only(Answer::yes)) != 0;
    return static_cast<Truths>((truths & only(Answer::unknown)) | (no ? only(Answer::yes) : 0) |
                               (yes ? only(Answer::no) : 0));
}

/// `yes` where the part can be among `wanted`, `no` where it can be something else.
constexpr Truths whether(Truths part, Truths wanted) {
    return static_cast<Truths>(((part & wanted) != 0 ? only(Answer::yes) : 0) |
                               ((part & ~wanted & everything) != 0 ? only(Answer::no) : 0));
}

constexpr Truths smaller_by_pairs(Truths a, Truths b) {
    Truths result = 0;
    for (const Answer x : {Answer::no, Answer::unknown, Answer::yes}) {
        for (const Answer y : {Answer::no, Answer::unknown, Answer::yes}) {
            if ((a & only(x)) != 0 && (b & only(y)) != 0) {
                result |= only(both(x, y));
            }
        }
    }
    return result;
}

/// Worked out once for all sets of truths: the search asks for it most of its time.
constexpr std::array<std::array<Truths, 8>, 8> smaller_table = [] {
    std::array<std::array<Truths, 8>, 8> table{};
    for (Truths a = 0; a < 8; ++a) {
        for (Truths b = 0; b < 8; ++b) {
            table[a][b] = smaller_by_pairs(a, b);
        }
    }
    return table;
}();

/// The truths that the smaller of two values can have.
Truths smaller(Truths a, Truths b) {
    return smaller_table[a][b];
}

Tendency joined(Tendency a, Tendency b) {
    if (a == b || b == Tendency::same) {
        return a;
    }
    return a == Tendency::same ? b : Tendency::either_way;
}

Tendency turned(Tendency tendency) {
    switch (tendency) {
        case Tendency::up:
            return Tendency::down;
        case Tendency::down:
            return Tendency::up;
        default:
            return tendency;
    }
}

Tendency moved(Answer from, Answer to) {
    if (from == to) {
        return Tendency::same;
    }
    return from < to ? Tendency::up : Tendency::down;
}

Tendency tendency_of_whole(const Condition& condition, const std::vector<Tendency>& known) {
    using Kind = Condition::Kind;
    Tendency parts = Tendency::same;
    for (const ConditionId part : condition.parts) {
        parts = joined(parts, known[part]);
    }
    switch (condition.kind) {
        case Kind::opposite:
        case Kind::unless_sure:
            return turned(parts);
        case Kind::unanswered:
            return parts == Tendency::same ? parts : Tendency::either_way;
        default:  // all, any, sure
            return parts;
    }
}

}  // namespace

PossibleTruths::PossibleTruths(const Protocol& protocol, const FindingSpace& space)
    : table_(protocol.conditions), space_(space), any_cell_(table_.size(), 0) {
    for (ConditionId id = 0; id < table_.size(); ++id) {
        if (FindingSpace::is_leaf(table_.condition(id))) {
            const auto place = space.place_of(id);
            for (const auto& truths : space.dimensions()[place.dimension].truths) {
                any_cell_[id] |= only(truths[place.leaf]);
            }
        }
    }
}

Truths PossibleTruths::of_leaf(ConditionId id, const Choices& choices) const {
    const auto place = space_.place_of(id);
    const auto& cell = choices[place.dimension];
    return cell ? only(space_.dimensions()[place.dimension].truths[*cell][place.leaf])
                : any_cell_[id];
}

Truths PossibleTruths::of(ConditionId id, const Choices& choices) const {
    using Kind = Condition::Kind;
    const Condition& condition = table_.condition(id);
    switch (condition.kind) {
        case Kind::all: {
            Truths truths = holds;
            for (const ConditionId part : condition.parts) {
                truths = smaller(truths, of(part, choices));
                if (truths == only(Answer::no)) {
                    break;  // nothing smaller can come
                }
            }
            return truths;
        }
        case Kind::any: {
            // The larger of two is the mirror image of the smaller of their mirror images.
            Truths truths = holds;
            for (const ConditionId part : condition.parts) {
                truths = smaller(truths, mirrored(of(part, choices)));
                if (truths == only(Answer::no)) {
                    break;  // nothing larger can come
                }
            }
            return mirrored(truths);
        }
        case Kind::opposite:
            return mirrored(of(condition.parts.front(), choices));
        case Kind::sure:
            return whether(of(condition.parts.front(), choices), holds);
        case Kind::unless_sure:
            return whether(of(condition.parts.front(), choices), does_not_hold);
        case Kind::unanswered:
            return whether(of(condition.parts.front(), choices), only(Answer::unknown));
        default:
            return of_leaf(id, choices);
    }
}

std::vector<Tendency> tendencies(const Protocol& protocol, const FindingSpace& space,
                                 const Step& step) {
    const ConditionTable& table = protocol.conditions;
    const auto& truths = space.dimensions()[step.dimension].truths;
    std::vector<Tendency> known(table.size(), Tendency::same);
    for (ConditionId id = 0; id < table.size(); ++id) {
        const Condition& condition = table.condition(id);
        if (!FindingSpace::is_leaf(condition)) {
            known[id] = tendency_of_whole(condition, known);
        } else if (const auto place = space.place_of(id); place.dimension == step.dimension) {
            known[id] = moved(truths[step.from][place.leaf], truths[step.to][place.leaf]);
        }
    }
    return known;
}

}  // namespace waybourne::triage
