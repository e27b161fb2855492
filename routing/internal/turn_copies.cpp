#include "routing/internal/turn_copies.hpp"

#include <algorithm>
#include <map>
#include <tuple>
#include <utility>

namespace waybourne::routing {

namespace {

using Parts = std::vector<PieceDirection>;

MeansSet both(MeansSet a, MeansSet b) {
    return MeansSet{static_cast<std::uint8_t>(a.bits() & b.bits())};
}

MeansSet either(MeansSet a, MeansSet b) {
    return MeansSet{static_cast<std::uint8_t>(a.bits() | b.bits())};
}

MeansSet without(MeansSet a, MeansSet b) {
    return MeansSet{static_cast<std::uint8_t>(a.bits() & ~b.bits())};
}

std::uint32_t tail_of(const PieceEnds& piece, bool is_forward) {
    return is_forward ? piece.from : piece.to;
}

/// The parts that somebody may leave by from each of the nodes.
std::map<std::uint32_t, std::vector<PieceDirection>> leaving_parts(
    std::uint32_t node_count, std::span<const PieceEnds> pieces,
    const std::vector<std::uint32_t>& nodes) {
    std::vector<bool> is_wanted(node_count);
    for (const std::uint32_t node : nodes) {
        is_wanted[node] = true;
    }
    std::map<std::uint32_t, std::vector<PieceDirection>> leaving;
    for (std::uint32_t piece = 0; piece < pieces.size(); ++piece) {
        for (const bool is_forward : {true, false}) {
            const PieceEnds& ends = pieces[piece];
            const std::uint32_t node = tail_of(ends, is_forward);
            const MeansSet means = is_forward ? ends.forward : ends.backward;
            if (is_wanted[node] && !means.is_empty()) {
                leaving[node].push_back({piece, is_forward});
            }
        }
    }
    return leaving;
}

class Splitter {
public:
    Splitter(std::uint32_t node_count, std::span<const PieceEnds> pieces)
        : node_count_(node_count), pieces_(pieces) {}

    TurnCopies split(std::span<const ForbiddenWay> forbidden) {
        std::for_each(forbidden.begin(), forbidden.end(),
                      [this](const ForbiddenWay& way) { forbid(way); });
        leaving_ = leaving_parts(node_count_, pieces_, copy_result_.node_originals);
        for (const auto& [beginning, copy] : copies_) {
            lead_into(beginning.front());
            leave(beginning, copy);
        }
        return result();
    }

private:
    /// A version of a piece: its number and the nodes it runs between.
    using Version = std::tuple<std::uint32_t, std::uint32_t, std::uint32_t>;

    std::uint32_t tail(PieceDirection part) const {
        return tail_of(pieces_[part.piece], part.is_forward);
    }
    std::uint32_t head(PieceDirection part) const {
        return tail_of(pieces_[part.piece], !part.is_forward);
    }
    MeansSet means(PieceDirection part) const {
        return part.is_forward ? pieces_[part.piece].forward : pieces_[part.piece].backward;
    }

    void forbid(const ForbiddenWay& way) {
        MeansSet concerned = way.means;
        for (const PieceDirection part : way.parts) {
            concerned = both(concerned, means(part));
        }
        if (concerned.is_empty()) {
            return;
        }
        MeansSet& known = forbidden_[way.parts];
        known = either(known, concerned);
        for (std::size_t length = 1; length < way.parts.size(); ++length) {
            const Parts beginning(way.parts.begin(),
                                  way.parts.begin() + static_cast<std::ptrdiff_t>(length));
            const auto number =
                static_cast<std::uint32_t>(node_count_ + copy_result_.node_originals.size());
            if (copies_.emplace(beginning, number).second) {
                copy_result_.node_originals.push_back(head(beginning.back()));
            }
        }
    }

    /// Calls `visit` with each end of the way, the longest first, until it says that it is enough.
    template <typename Visit>
    static void each_end(Parts way, const Visit& visit) {
        for (; !way.empty(); way.erase(way.begin())) {
            if (!visit(way)) {
                return;
            }
        }
    }

    /// The node at which the way arrives.
    std::uint32_t arrival(const Parts& way) const {
        std::uint32_t node = head(way.back());
        each_end(way, [&](const Parts& end) {
            const auto copy = copies_.find(end);
            if (copy == copies_.end()) {
                return true;
            }
            node = copy->second;
            return false;
        });
        return node;
    }

    /// Whom the way's last part is forbidden.
    MeansSet forbidden_on(const Parts& way) const {
        MeansSet banned;
        each_end(way, [&](const Parts& end) {
            const auto found = forbidden_.find(end);
            banned = found == forbidden_.end() ? banned : either(banned, found->second);
            return true;
        });
        return banned;
    }

    /// Those who come without a past along the first part of a forbidden way.
    void lead_into(PieceDirection part) { add(part, tail(part), arrival({part}), means(part)); }

    /// Those who have come along the beginning of a forbidden way.
    void leave(const Parts& beginning, std::uint32_t copy) {
        for (const PieceDirection part : leaving_[head(beginning.back())]) {
            Parts way = beginning;
            way.push_back(part);
            add(part, copy, arrival(way), without(means(part), forbidden_on(way)));
        }
    }

    void add(PieceDirection part, std::uint32_t from, std::uint32_t to, MeansSet who) {
        if (who.is_empty()) {
            return;
        }
        const auto [low, high] = part.is_forward ? std::pair(from, to) : std::pair(to, from);
        PieceEnds& version = versions_[{part.piece, low, high}];
        version.from = low;
        version.to = high;
        (part.is_forward ? version.forward : version.backward) = who;
    }

    /// The directions that lead into no forbidden way stay as they are.
    void add_unchanged(std::uint32_t piece) {
        for (const bool is_forward : {true, false}) {
            const PieceDirection part{piece, is_forward};
            if (!copies_.contains({part})) {
                add(part, tail(part), head(part), means(part));
            }
        }
    }

    TurnCopies result() {
        std::vector<std::uint32_t> changed;
        for (const auto& [version, ends] : versions_) {
            if (changed.empty() || changed.back() != std::get<0>(version)) {
                changed.push_back(std::get<0>(version));
            }
        }
        std::for_each(changed.begin(), changed.end(),
                      [this](std::uint32_t p) { add_unchanged(p); });
        // Numbers of copies are greater than those of originals, so that the version between the
        // originals, where there is one, comes first.
        for (const auto& [version, ends] : versions_) {
            auto& all = copy_result_.pieces;
            if (all.empty() || all.back().piece != std::get<0>(version)) {
                all.push_back({std::get<0>(version), {}});
            }
            all.back().versions.push_back(ends);
        }
        return std::move(copy_result_);
    }

    std::uint32_t node_count_;
    std::span<const PieceEnds> pieces_;
    std::map<Parts, MeansSet> forbidden_;
    /// The node of each proper beginning of a forbidden way.
    std::map<Parts, std::uint32_t> copies_;
    std::map<std::uint32_t, std::vector<PieceDirection>> leaving_;
    std::map<Version, PieceEnds> versions_;
    TurnCopies copy_result_;
};

}  // namespace

std::vector<ForbiddenWay> forbidden_by(std::uint32_t node_count, std::span<const PieceEnds> pieces,
                                       std::span<const RequiredWay> required) {
    // What may follow each beginning, and for whom something must.
    struct Onward {
        MeansSet bound;
        std::map<PieceDirection, MeansSet> allowed;
    };
    std::map<Parts, Onward> beginnings;
    for (const RequiredWay& way : required) {
        for (auto next = way.parts.begin() + 1; next < way.parts.end(); ++next) {
            Onward& onward = beginnings[Parts(way.parts.begin(), next)];
            onward.bound = either(onward.bound, way.means);
            MeansSet& allowed = onward.allowed[*next];
            allowed = either(allowed, way.means);
        }
    }
    const auto end_of = [&](const Parts& parts) {
        return tail_of(pieces[parts.back().piece], !parts.back().is_forward);
    };
    std::vector<std::uint32_t> nodes;
    nodes.reserve(beginnings.size());
    for (const auto& [beginning, onward] : beginnings) {
        nodes.push_back(end_of(beginning));
    }
    const auto leaving = leaving_parts(node_count, pieces, nodes);
    std::vector<ForbiddenWay> forbidden;
    for (const auto& [beginning, onward] : beginnings) {
        const auto found = leaving.find(end_of(beginning));
        if (found == leaving.end()) {
            continue;
        }
        for (const PieceDirection part : found->second) {
            const auto allowed = onward.allowed.find(part);
            const MeansSet free = allowed == onward.allowed.end() ? MeansSet{} : allowed->second;
            ForbiddenWay way{beginning, without(onward.bound, free)};
            way.parts.push_back(part);
            if (!way.means.is_empty()) {
                forbidden.push_back(std::move(way));
            }
        }
    }
    return forbidden;
}

TurnCopies turn_copies(std::uint32_t node_count, std::span<const PieceEnds> pieces,
                       std::span<const ForbiddenWay> forbidden) {
    return Splitter(node_count, pieces).split(forbidden);
}

}  // namespace waybourne::routing
