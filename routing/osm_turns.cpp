#include "routing/internal/osm_turns.hpp"

#include <algorithm>
#include <iterator>
#include <set>
#include <utility>

namespace waybourne::routing {

namespace {

MeansSet both(MeansSet a, MeansSet b) {
    return MeansSet{static_cast<std::uint8_t>(a.bits() & b.bits())};
}

/// A directed piece of a way.
struct Step {
    const CutPiece* piece = nullptr;
    bool is_forward = true;

    std::int64_t tail() const { return is_forward ? piece->from_node : piece->to_node; }
    std::int64_t head() const { return is_forward ? piece->to_node : piece->from_node; }
    NodeId network_tail() const { return is_forward ? piece->from : piece->to; }
    NodeId network_head() const { return is_forward ? piece->to : piece->from; }
    MeansSet means() const { return is_forward ? piece->forward : piece->backward; }
    PieceDirection direction() const { return {piece->number, is_forward}; }
};

using Steps = std::vector<Step>;

Steps steps_of(std::span<const CutPiece> pieces) {
    Steps steps;
    for (const CutPiece& piece : pieces) {
        steps.push_back({&piece, true});
        steps.push_back({&piece, false});
    }
    return steps;
}

/// A whole way from one end to the other; empty where it has a gap.
Steps whole_way(std::span<const CutPiece> pieces, bool is_forward) {
    Steps steps;
    for (std::size_t i = 0; i < pieces.size(); ++i) {
        const Step step{&pieces[is_forward ? i : pieces.size() - 1 - i], is_forward};
        if (!steps.empty() && steps.back().head() != step.tail()) {
            return {};
        }
        steps.push_back(step);
    }
    return steps;
}

/// Every way along the pieces that one `from`, the `via` and one `to` could mean.
class Readings {
public:
    Readings(const TurnWays& ways, const KeptTurn& turn, std::int64_t from, std::int64_t to)
        : ways_(ways), turn_(turn), is_used_(turn.via_ways.size()), to_(steps_of(ways.pieces(to))) {
        for (const Step& step : steps_of(ways.pieces(from))) {
            if (turn.via_nodes.empty() || step.head() == turn.via_nodes.front()) {
                steps_ = {step};
                follow();
            }
        }
    }

    const std::vector<Steps>& all() const { return all_; }

private:
    /// On from the last step, along the ways that are not used yet.
    void follow() {
        if (std::all_of(is_used_.begin(), is_used_.end(), [](bool used) { return used; })) {
            finish();
            return;
        }
        for (std::size_t i = 0; i < is_used_.size(); ++i) {
            if (is_used_[i]) {
                continue;
            }
            is_used_[i] = true;
            for (const bool is_forward : {true, false}) {
                const Steps whole = whole_way(ways_.pieces(turn_.via_ways[i]), is_forward);
                if (!whole.empty() && whole.front().tail() == steps_.back().head()) {
                    steps_.insert(steps_.end(), whole.begin(), whole.end());
                    follow();
                    steps_.resize(steps_.size() - whole.size());
                }
            }
            is_used_[i] = false;
        }
    }

    void finish() {
        const std::int64_t node = steps_.back().head();
        for (const Step& step : to_) {
            if (step.tail() == node) {
                all_.push_back(steps_);
                all_.back().push_back(step);
            }
        }
    }

    const TurnWays& ways_;
    const KeptTurn& turn_;
    std::vector<bool> is_used_;
    Steps to_;
    Steps steps_;
    std::vector<Steps> all_;
};

MeansSet who_could(const Steps& steps, MeansSet means) {
    for (const Step& step : steps) {
        means = both(means, step.means());
    }
    return means;
}

bool has_barrier(const Steps& steps) {
    for (std::size_t i = 1; i < steps.size(); ++i) {
        if (steps[i - 1].network_head() != steps[i].network_tail()) {
            return true;
        }
    }
    return false;
}

class TurnAdder {
public:
    TurnAdder(NetworkBuilder& builder, const TurnWays& ways) : builder_(builder), ways_(ways) {}

    /// Why the relation is left out, or null. Nothing is added of one that is.
    const char* add(const KeptTurn& turn) {
        found_.clear();
        for (const std::int64_t from : turn.from_ways) {
            for (const std::int64_t to : turn.to_ways) {
                const char* fault = read(turn, from, to);
                if (fault != nullptr) {
                    return fault;
                }
            }
        }
        for (const auto& [rule, parts] : found_) {
            if (rule.is_only) {
                builder_.require({parts, rule.means});
            } else {
                builder_.forbid({parts, rule.means});
            }
        }
        return nullptr;
    }

private:
    const char* read(const KeptTurn& turn, std::int64_t from, std::int64_t to) {
        const auto is_no_road = [&](std::int64_t way) { return ways_.pieces(way).empty(); };
        if (is_no_road(from) || is_no_road(to) ||
            std::any_of(turn.via_ways.begin(), turn.via_ways.end(), is_no_road)) {
            return "relation: a turn restriction with a way that is no road of this map";
        }
        const Readings readings{ways_, turn, from, to};
        if (readings.all().empty()) {
            return "relation: a turn restriction whose members do not meet";
        }
        for (const TurnRule& rule : turn.rules) {
            const char* fault = read(rule, readings);
            if (fault != nullptr) {
                return fault;
            }
        }
        return nullptr;
    }

    const char* read(const TurnRule& rule, const Readings& readings) {
        const Steps* meant = nullptr;
        for (const Steps& steps : readings.all()) {
            if (who_could(steps, rule.means).is_empty()) {
                continue;
            }
            if (meant != nullptr) {
                return "relation: a turn restriction that can be read in more than one way";
            }
            meant = &steps;
        }
        if (meant == nullptr) {
            return "relation: a turn restriction where nobody whom it binds could go";
        }
        if (has_barrier(*meant)) {
            return "relation: a turn restriction at a barrier";
        }
        std::vector<PieceDirection> parts;
        parts.reserve(meant->size());
        std::transform(meant->begin(), meant->end(), std::back_inserter(parts),
                       [](const Step& step) { return step.direction(); });
        found_.emplace_back(TurnRule{rule.is_only, who_could(*meant, rule.means)},
                            std::move(parts));
        return nullptr;
    }

    NetworkBuilder& builder_;
    const TurnWays& ways_;
    std::vector<std::pair<TurnRule, std::vector<PieceDirection>>> found_;
};

}  // namespace

TurnWays::TurnWays(std::span<const KeptTurn> turns) {
    for (const KeptTurn& turn : turns) {
        for (const auto* ways : {&turn.from_ways, &turn.to_ways, &turn.via_ways}) {
            named_.insert(ways->begin(), ways->end());
        }
    }
}

std::span<const CutPiece> TurnWays::pieces(std::int64_t way) const {
    const auto found = pieces_.find(way);
    return found == pieces_.end() ? std::span<const CutPiece>{} : std::span{found->second};
}

std::uint64_t add_turns(NetworkBuilder& builder, std::span<const KeptTurn> turns,
                        const TurnWays& ways, Remarks& left_out) {
    TurnAdder adder{builder, ways};
    std::set<std::int64_t> seen;
    std::uint64_t kept = 0;
    for (const KeptTurn& turn : turns) {
        const char* fault = seen.insert(turn.id).second
                                ? adder.add(turn)
                                : "relation: a turn restriction that stands twice in the file";
        if (fault == nullptr) {
            ++kept;
        } else {
            left_out.add(fault, turn.id);
        }
    }
    return kept;
}

}  // namespace waybourne::routing
