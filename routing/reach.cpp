#include "routing/reach.hpp"

#include <algorithm>
#include <queue>

#include "routing/internal/ends.hpp"
#include "routing/internal/way.hpp"

namespace waybourne::routing {

namespace {

/// From here a road is followed: along its piece's own direction or against it.
struct Origin {
    /// Never a copy.
    PieceId piece;
    bool goes_up = true;
    std::uint32_t at_cm = 0;
    Label label;
    /// That one drives on.
    ArcId arc;
    auto operator<=>(const Origin&) const = default;
};

/// What is asked.
struct Question {
    /// Else towards the targets.
    bool is_from_starts = true;
    /// When one sets out; none: whenever, and nobody waits.
    std::optional<Instant> at;
    std::uint32_t limit_ds = 0;
    JudgedBy judged_by = JudgedBy::typical;

    std::uint32_t judged(const Label& label) const {
        return judged_by == JudgedBy::typical ? label.typical_ds : label.allowed_ds();
    }
    bool is_inside(const Label& label) const {
        return label.is_reached() && judged(label) <= limit_ds;
    }
};

/// Where one must be `label.typical_ds` before the end of the limit: how long before it one must
/// set out on what lies before that takes the clock `onward`. A later moment never arrives earlier
/// there, so the last one is found by halving.
template <typename Onward>
Label before_clock(const Label& label, const Weight& weight, std::uint32_t limit_ds,
                   const Onward& onward) {
    if (!label.is_reached() || label.typical_ds > limit_ds) {
        return {};
    }
    const std::uint32_t latest_ds = limit_ds - label.typical_ds;
    const auto is_in_time = [&](std::uint32_t set_out_ds) {
        const Label there = onward(Label{set_out_ds, 0, 0, 0});
        return there.is_reached() && there.typical_ds <= latest_ds;
    };
    if (!is_in_time(0)) {
        return {};
    }
    std::uint32_t in_time = 0;
    std::uint32_t late = latest_ds + 1;
    while (late - in_time > 1) {
        const std::uint32_t middle = in_time + (late - in_time) / 2;
        (is_in_time(middle) ? in_time : late) = middle;
    }
    Label before = extended(label, weight);
    before.typical_ds = limit_ds - in_time;
    return before;
}

/// The stretches of one piece that lie inside, given all origins on it.
class Cut {
public:
    Cut(const Metric& metric, const Question& question) : metric_(metric), question_(question) {}

    void add(std::span<const Origin> origins, std::vector<ReachedStretch>& stretches) {
        const std::size_t before = stretches.size();
        for (const Origin& origin : origins) {
            const Piece& piece = metric_.network().piece(origin.piece);
            std::uint32_t inside = 0;
            std::uint32_t outside =
                (origin.goes_up ? piece.length_cm - origin.at_cm : origin.at_cm) + 1;
            if (!holds(origins, origin, 0)) {
                continue;
            }
            while (outside - inside > 1) {
                const std::uint32_t middle = inside + (outside - inside) / 2;
                (holds(origins, origin, middle) ? inside : outside) = middle;
            }
            stretches.push_back(
                origin.goes_up ? ReachedStretch{origin.piece, origin.at_cm, origin.at_cm + inside}
                               : ReachedStretch{origin.piece, origin.at_cm - inside, origin.at_cm});
        }
        merge(stretches, before);
    }

private:
    /// The label that far along the road from an origin.
    Label label(const Origin& origin, std::uint32_t cm) const {
        if (cm == 0) {
            return origin.label;
        }
        const Piece& piece = metric_.network().piece(origin.piece);
        const std::uint32_t end = origin.goes_up ? origin.at_cm + cm : origin.at_cm - cm;
        const auto [low, high] = std::minmax(origin.at_cm, end);
        // towards the targets one drives against the direction that is followed
        const ArcPart part =
            origin.goes_up == question_.is_from_starts
                ? ArcPart{origin.arc, low, high}
                : ArcPart{origin.arc, piece.length_cm - high, piece.length_cm - low};
        const Weight weight = metric_.weight(part.arc, part.from_cm, part.to_cm);
        if (!question_.at || metric_.timetable(part.arc) == nullptr) {
            return extended(origin.label, weight);
        }
        if (question_.is_from_starts) {
            return along(origin.label, metric_, part, *question_.at);
        }
        return before_clock(origin.label, weight, question_.limit_ds, [&](const Label& set_out) {
            return along(set_out, metric_, part, *question_.at);
        });
    }

    /// Inside, and no other origin gets there by a better way, whose time would then count. True up
    /// to some point along the road and false beyond.
    bool holds(std::span<const Origin> origins, const Origin& origin, std::uint32_t cm) const {
        const Label here = label(origin, cm);
        if (!question_.is_inside(here)) {
            return false;
        }
        if (question_.judged_by == JudgedBy::typical) {
            return true;
        }
        const std::uint32_t at = origin.goes_up ? origin.at_cm + cm : origin.at_cm - cm;
        return std::none_of(origins.begin(), origins.end(), [&](const Origin& other) {
            const bool is_passed = other.goes_up ? other.at_cm <= at : other.at_cm >= at;
            return is_passed &&
                   label(other, other.goes_up ? at - other.at_cm : other.at_cm - at) < here;
        });
    }

    static void merge(std::vector<ReachedStretch>& stretches, std::size_t begin) {
        const auto first = stretches.begin() + static_cast<std::ptrdiff_t>(begin);
        std::sort(first, stretches.end(), [](const ReachedStretch& a, const ReachedStretch& b) {
            return a.from_cm < b.from_cm;
        });
        auto last = first;
        for (auto next = first; next != stretches.end(); ++next) {
            if (next == first) {
                continue;
            }
            if (next->from_cm <= last->to_cm + 1) {
                last->to_cm = std::max(last->to_cm, next->to_cm);
            } else {
                *++last = *next;
            }
        }
        if (first != stretches.end()) {
            stretches.erase(last + 1, stretches.end());
        }
    }

    const Metric& metric_;
    Question question_;
};

}  // namespace

class ReachSearch::Search {
public:
    explicit Search(std::shared_ptr<const Metric> metric)
        : metric_(std::move(metric)),
          network_(metric_->network()),
          incoming_(network_),
          labels_(network_.node_count()) {}

    Reach from(std::span<const Snap> starts, Instant at, Seconds limit, JudgedBy judged_by) {
        begin(starts, {true, at, limit_in_ds(limit), judged_by}, limit);
        for (const Snap& start : starts) {
            const Departure departure{start, at};
            for (const Entry& entry : entries(*metric_, departure)) {
                improve(entry.node, entry.label);
            }
            for (const Access& access : start.accesses) {
                begin_on_road(access);
            }
        }
        run([&](NodeId node, const Label& label) {
            for (ArcId arc = network_.first_arc(node); arc < network_.end_arc(node); ++arc.value) {
                if (metric_->is_open(arc)) {
                    improve(network_.head(arc), across(label, *metric_, arc, at));
                    follow(arc, label);
                }
            }
        });
        return finish();
    }

    Reach to(std::span<const Snap> targets, std::optional<Instant> at, Seconds limit,
             JudgedBy judged_by) {
        begin(targets, {false, at, limit_in_ds(limit), judged_by}, limit);
        for (const Snap& target : targets) {
            for (const Gate& gate : gates(*metric_, target)) {
                improve(gate.node, before_gate(gate, target));
            }
            for (const Access& access : target.accesses) {
                begin_on_road(access);
            }
        }
        run([&](NodeId node, const Label& label) {
            for (const auto& [arc, tail] : incoming_.at(node)) {
                if (metric_->is_open(arc)) {
                    improve(tail, before_arc(arc, label));
                    follow(arc, label);
                }
            }
        });
        return finish();
    }

private:
    using Item = std::pair<Label, NodeId>;

    void begin(std::span<const Snap> snaps, const Question& question, Seconds limit) {
        std::for_each(snaps.begin(), snaps.end(),
                      [&](const Snap& snap) { check_snap(network_, snap); });
        for (const NodeId node : touched_) {
            labels_[node.value] = {};
        }
        touched_.clear();
        origins_.clear();
        ferries_.clear();
        question_ = question;
        is_empty_ = limit < 0s;
        has_timetables_ = false;
    }

    Label before_gate(const Gate& gate, const Snap& target) {
        const TimeAndSpread value = gate_value(*metric_, gate, target);
        if (!value.is_open()) {
            return {};
        }
        if (!question_.at || !gate.last || !metric_->waits(gate.last->arc)) {
            return to_label(value);
        }
        return before_clock(Label::start(), {value.typical_ds(), value.variance_ds2()},
                            question_.limit_ds, [&](const Label& label) {
                                return through(gate, label, *metric_, target, *question_.at);
                            });
    }

    Label before_arc(ArcId arc, const Label& label) const {
        const Weight weight = metric_->weight(arc);
        if (!question_.at || !metric_->waits(arc)) {
            return extended(label, weight);
        }
        return before_clock(label, weight, question_.limit_ds, [&](const Label& set_out) {
            return across(set_out, *metric_, arc, *question_.at);
        });
    }

    void improve(NodeId node, const Label& label) {
        if (is_empty_ || !label.is_reached() || label.typical_ds > question_.limit_ds ||
            !(label < labels_[node.value])) {
            return;
        }
        if (!labels_[node.value].is_reached()) {
            touched_.push_back(node);
        }
        labels_[node.value] = label;
        queue_.emplace(label, node);
    }

    template <typename Relax>
    void run(const Relax& relax) {
        while (!queue_.empty()) {
            const auto [label, node] = queue_.top();
            queue_.pop();
            if (label == labels_[node.value]) {
                relax(node, label);
            }
        }
    }

    /// A place on a road: both directions from there, where they are open.
    void begin_on_road(const Access& access) {
        const Label label = extended(Label::start(), metric_->off_road(access.off_road));
        if (is_empty_ || !label.is_reached() || network_.piece(access.piece).is_ferry()) {
            return;
        }
        const PieceId id = network_.original(access.piece);
        each_version(network_, id, [&](PieceId version) {
            const Piece& piece = network_.piece(version);
            for (const bool goes_up : {true, false}) {
                // towards a target one drives against the direction that is followed
                const ArcId arc =
                    goes_up == question_.is_from_starts ? piece.forward : piece.backward;
                if (metric_->is_open(arc)) {
                    has_timetables_ = has_timetables_ || metric_->waits(arc);
                    origins_.push_back({id, goes_up, access.along_cm, label, arc});
                }
            }
        });
    }

    void follow(ArcId arc, const Label& label) {
        has_timetables_ = has_timetables_ || (metric_->waits(arc) && question_.is_inside(label));
        const PieceId id = network_.piece_of(arc);
        const Piece& piece = network_.piece(id);
        if (piece.is_ferry()) {
            ferries_.push_back(id);
            return;
        }
        const bool goes_up = network_.is_forward(arc) == question_.is_from_starts;
        origins_.push_back(
            {network_.original(id), goes_up, goes_up ? 0 : piece.length_cm, label, arc});
    }

    Reach finish() {
        Reach reach;
        reach.has_timetables = has_timetables_;
        add_nodes(reach);
        std::sort(origins_.begin(), origins_.end());
        Cut cut{*metric_, question_};
        for (auto first = origins_.begin(); first != origins_.end();) {
            const auto last = std::find_if(first, origins_.end(), [&](const Origin& other) {
                return other.piece != first->piece;
            });
            cut.add({first, last}, reach.stretches);
            first = last;
        }
        add_ferries(reach);
        return reach;
    }

    /// Each junction once, by the best of its copies.
    void add_nodes(Reach& reach) const {
        std::vector<std::pair<NodeId, Label>> reached;
        for (const NodeId node : touched_) {
            reached.emplace_back(network_.original(node), labels_[node.value]);
        }
        std::sort(reached.begin(), reached.end());
        for (std::size_t i = 0; i < reached.size(); ++i) {
            const auto& [node, label] = reached[i];
            if ((i == 0 || reached[i - 1].first != node) && question_.is_inside(label)) {
                reach.nodes.push_back({node, label.travel_time()});
            }
        }
    }

    /// A crossing whose both banks are inside.
    void add_ferries(Reach& reach) {
        std::sort(ferries_.begin(), ferries_.end());
        ferries_.erase(std::unique(ferries_.begin(), ferries_.end()), ferries_.end());
        for (const PieceId id : ferries_) {
            const Piece& piece = network_.piece(id);
            if (question_.is_inside(labels_[piece.from.value]) &&
                question_.is_inside(labels_[piece.to.value])) {
                reach.stretches.push_back({network_.original(id), 0, piece.length_cm});
            }
        }
        std::sort(reach.stretches.begin(), reach.stretches.end(),
                  [](const ReachedStretch& a, const ReachedStretch& b) {
                      return a.piece != b.piece ? a.piece < b.piece : a.from_cm < b.from_cm;
                  });
        reach.stretches.erase(std::unique(reach.stretches.begin(), reach.stretches.end()),
                              reach.stretches.end());
    }

    std::shared_ptr<const Metric> metric_;
    const RoadNetwork& network_;
    IncomingArcs incoming_;
    std::vector<Label> labels_;
    std::vector<NodeId> touched_;
    std::priority_queue<Item, std::vector<Item>, std::greater<>> queue_;
    std::vector<Origin> origins_;
    std::vector<PieceId> ferries_;
    Question question_;
    bool is_empty_ = false;
    bool has_timetables_ = false;
};

ReachSearch::ReachSearch(std::shared_ptr<const Metric> metric)
    : search_(std::make_unique<Search>(std::move(metric))) {}

ReachSearch::~ReachSearch() = default;

Reach ReachSearch::from(std::span<const Snap> starts, Instant at, Seconds limit,
                        JudgedBy judged_by) {
    return search_->from(starts, at, limit, judged_by);
}

Reach ReachSearch::to(std::span<const Snap> targets, Instant at, Seconds limit) {
    return search_->to(targets, at, limit, JudgedBy::typical);
}

Reach ReachSearch::to(std::span<const Snap> targets, Seconds limit, JudgedBy judged_by) {
    return search_->to(targets, std::nullopt, limit, judged_by);
}

std::vector<std::vector<GeoPoint>> lines_of(const RoadNetwork& network, const Reach& reach) {
    std::vector<std::vector<GeoPoint>> lines;
    for (const ReachedStretch& stretch : reach.stretches) {
        const Piece& piece = network.piece(stretch.piece);
        if (piece.forward.exists()) {
            lines.push_back(line_of(network, {piece.forward, stretch.from_cm, stretch.to_cm}));
        } else {
            lines.push_back(line_of(network, {piece.backward, piece.length_cm - stretch.to_cm,
                                              piece.length_cm - stretch.from_cm}));
        }
    }
    return lines;
}

}  // namespace waybourne::routing
