#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "routing/internal/node_places.hpp"
#include "routing/internal/osm_ways.hpp"
#include "routing/metric.hpp"
#include "routing/network_builder.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::routing {

namespace {

constexpr std::size_t component_examples = 20;
/// Of one ferry, up to which there is a piece from each to each: a bound for hostile files (common
/// practice, no source).
constexpr std::size_t most_stops = 16;

/// Reads one ferry's tags; what cannot be understood is remarked and replaced by an assumption.
class FerryReader {
public:
    FerryReader(const SpeedRows& speeds, std::string zone, Remarks& assumed)
        : speeds_(speeds), zone_(std::move(zone)), assumed_(assumed) {}

    Ferry read(const FerryTags& tags, Metres length) {
        Ferry ferry;
        ferry.crossing = crossing(tags, length);
        const std::optional<std::chrono::minutes> every = interval(tags);
        ferry.timetable = timetable(tags, every);
        if (!ferry.timetable) {
            ferry.assumed_wait = wait(tags, every);
        }
        ferry.sails_when_wet = tags.sails_when_wet;
        ferry.sails_when_dry = tags.sails_when_dry;
        return ferry;
    }

private:
    Seconds crossing(const FerryTags& tags, Metres length) {
        if (!tags.duration.empty()) {
            try {
                return parse_duration(tags.duration);
            } catch (const InputError&) {
                assumed_.add("way: a ferry's duration is not understood, its speed is assumed",
                             tags.way);
            }
        } else {
            assumed_.add("way: a ferry without duration, its speed is assumed", tags.way);
        }
        const double hours = length.value() / 1000.0 / speeds_.ferry_speed;
        return speeds_.ferry_boarding + Seconds{std::llround(std::ceil(hours * 3600.0))};
    }

    std::optional<std::chrono::minutes> interval(const FerryTags& tags) {
        if (tags.interval.empty()) {
            return std::nullopt;
        }
        try {
            return std::max(std::chrono::minutes{1}, ceil_minutes(parse_duration(tags.interval)));
        } catch (const InputError&) {
            assumed_.add("way: a ferry's interval is not understood", tags.way);
            return std::nullopt;
        }
    }

    /// Many a `timetable` is the address of a page; the hours beside it may be readable.
    std::optional<Timetable> timetable(const FerryTags& tags,
                                       std::optional<std::chrono::minutes> every) {
        const char* remark = "way: a ferry without timetable, a wait is assumed";
        if (!tags.timetable.empty()) {
            if (auto read = hours(tags.timetable, every, tags.way)) {
                return read;
            }
            remark = "way: a ferry's timetable is not understood, a wait is assumed";
        }
        if (!tags.opening_hours.empty()) {
            if (auto read = hours(tags.opening_hours, every, tags.way)) {
                if (!tags.timetable.empty()) {
                    assumed_.add(
                        "way: a ferry's timetable is not understood, its opening hours count",
                        tags.way);
                }
                return read;
            }
            remark = "way: a ferry's timetable is not understood, a wait is assumed";
        }
        assumed_.add(remark, tags.way);
        return std::nullopt;
    }

    std::optional<Timetable> hours(const std::string& text,
                                   std::optional<std::chrono::minutes> every, std::int64_t way) {
        try {
            ReadTimetable read = parse_timetable(text, zone_, every);
            for (const std::string& remark : read.remarks) {
                assumed_.add("way: a ferry's timetable: " + remark, way);
            }
            return std::move(read.timetable);
        } catch (const InputError&) {
            return std::nullopt;
        }
    }

    /// The mean: half an interval for whoever comes at any moment. Beside hours that are not
    /// understood an interval says little: it may be a rest of the day when nothing sails.
    Seconds wait(const FerryTags& tags, std::optional<std::chrono::minutes> every) {
        if (!every) {
            return speeds_.ferry_assumed_wait;
        }
        const bool has_hours = !tags.timetable.empty() || !tags.opening_hours.empty();
        const Seconds half = Seconds{*every} / 2;
        const Seconds wait = has_hours ? std::max(half, speeds_.ferry_assumed_wait) : half;
        if (wait > longest_wait_with_spread) {
            assumed_.add(
                "way: a ferry that sails seldom, at hours that are not known: nearly the "
                "whole interval counts as waiting",
                tags.way);
        }
        return wait;
    }

    const SpeedRows& speeds_;
    std::string zone_;
    Remarks& assumed_;
};

/// Cuts ways into pieces and hands them to the builder.
class WayCutter {
public:
    WayCutter(OsmWays& ways, OsmNodes& nodes, const SpeedTable& speeds,
              const ImportSettings& settings, Remarks& left_out, Remarks& assumed)
        : ways_(ways),
          nodes_(nodes),
          left_out_(left_out),
          assumed_(assumed),
          ferry_reader_(speeds.rows(), settings.time_zone, assumed),
          places_(nodes.ids),
          network_nodes_(nodes.nodes.size()),
          turn_ways_(ways.turns) {}

    /// Roads before ferries: where they meet, ferries land.
    void cut_all() {
        for (const KeptWay& way : ways_.ways) {
            if (!way.is_ferry()) {
                cut(way);
            }
        }
        for (const KeptWay& way : ways_.ways) {
            if (way.is_ferry()) {
                note_landing(ways_.node_ids[way.first_node]);
                note_landing(ways_.node_ids[way.first_node + way.node_count - 1]);
            }
        }
        for (const KeptWay& way : ways_.ways) {
            if (way.is_ferry()) {
                cut(way);
            }
        }
    }

    NetworkBuilder& builder() { return builder_; }

    const TurnWays& turn_ways() const { return turn_ways_; }

    void count_into(ImportReport& report) const {
        report.roads = roads_;
        report.ferries = ferries_;
        report.missing_nodes = missing_nodes_;
    }

private:
    void note_landing(std::int64_t id) { nodes_.nodes[places_.find(id)].is_landing = true; }

    void cut(const KeptWay& way) {
        run_.clear();
        bool has_piece = false;
        for (std::uint32_t i = 0; i < way.node_count; ++i) {
            const std::size_t node = places_.find(ways_.node_ids[way.first_node + i]);
            if (nodes_.nodes[node].is_found) {
                nodes_.nodes[node].is_landing |= !way.is_ferry();
                run_.push_back(node);
            } else {
                ++missing_nodes_;
                has_piece |= cut_run(way);
                run_.clear();
            }
        }
        has_piece |= cut_run(way);
        if (!has_piece) {
            left_out_.add("way: fewer than two of its nodes are in the file", way.id);
        } else {
            ++roads_;
            ferries_ += way.is_ferry() ? 1U : 0U;
        }
    }

    bool is_junction(std::size_t node) const { return nodes_.nodes[node].uses >= 2; }
    bool stops_somebody(std::size_t node) const { return !nodes_.nodes[node].stopped.is_empty(); }

    /// A ford as a node closes the stretches of road on both sides of it.
    bool is_ford(const KeptWay& way, std::size_t i) const {
        return way.attributes.is_ford || nodes_.nodes[run_[i]].is_ford ||
               nodes_.nodes[run_[i + 1]].is_ford;
    }

    bool cut_run(const KeptWay& way) {
        if (run_.size() < 2) {
            return false;
        }
        if (way.is_ferry()) {
            cut_ferry(way);
            return true;
        }
        std::size_t start = 0;
        for (std::size_t i = 1; i < run_.size(); ++i) {
            const bool is_end = i + 1 == run_.size();
            if (is_end || is_junction(run_[i]) || stops_somebody(run_[i]) ||
                is_ford(way, i - 1) != is_ford(way, i)) {
                add_piece(way, start, i);
                start = i;
            }
        }
        return true;
    }

    /// Where only ferries meet, and none of them ends, nobody changes from one to the other.
    bool is_stop(std::size_t node) const {
        return is_junction(node) && nodes_.nodes[node].is_landing;
    }

    void cut_ferry(const KeptWay& way) {
        run_length_ = length(0, run_.size() - 1);
        ferry_ = ferry_reader_.read(ways_.ferries[way.ferry], run_length_);
        std::vector<std::size_t> stops{0};
        for (std::size_t i = 1; i < run_.size(); ++i) {
            const bool is_border = i + 1 == run_.size() || stops_somebody(run_[i]);
            if (is_border || is_stop(run_[i])) {
                stops.push_back(i);
            }
            if (is_border) {
                add_crossings(way, stops);
                stops = {i};
            }
        }
    }

    /// From each stop to each later one, so that whoever boards waits once, where she boards, and
    /// stays on board past the stops between; and whoever changes ferries waits for the next one.
    void add_crossings(const KeptWay& way, const std::vector<std::size_t>& stops) {
        const bool has_many = stops.size() > most_stops;
        if (has_many) {
            assumed_.add("way: a ferry with many stops, a wait counts at each of them", way.id);
        }
        // What relations say about turns is followed from part to part.
        const bool is_in_parts = has_many || turn_ways_.is_named(way.id);
        for (std::size_t from = 0; from + 1 < stops.size(); ++from) {
            const std::size_t end = is_in_parts ? from + 2 : stops.size();
            for (std::size_t to = from + 1; to < end; ++to) {
                add_piece(way, stops[from], stops[to]);
            }
        }
    }

    void add_piece(const KeptWay& way, std::size_t start, std::size_t end) {
        piece_.from = end_at(run_[start], way);
        piece_.to = end_at(run_[end], way);
        piece_.attributes = way.attributes;
        piece_.attributes.is_ford = is_ford(way, start);
        piece_.name = ways_.names[way.name];
        piece_.road = RoadId{way.id};
        piece_.forward = way.forward;
        piece_.backward = way.backward;
        piece_.shape.clear();
        for (std::size_t i = start + 1; i < end; ++i) {
            piece_.shape.push_back(to_geo_point(nodes_.nodes[run_[i]].point));
        }
        piece_.ferry = way.is_ferry() ? std::optional{add_ferry(start, end)} : std::nullopt;
        const std::uint32_t number = builder_.add_piece(piece_);
        if (turn_ways_.is_named(way.id)) {
            turn_ways_.add(way.id, {number, nodes_.ids[run_[start]], nodes_.ids[run_[end]],
                                    piece_.from, piece_.to, piece_.forward, piece_.backward});
        }
    }

    /// A part of a ferry's way takes its share of the crossing.
    std::uint32_t add_ferry(std::size_t start, std::size_t end) {
        Ferry ferry = ferry_;
        const double share = run_length_.value() > 0 ? length(start, end) / run_length_ : 1.0;
        const double seconds = static_cast<double>(ferry.crossing.count()) * share;
        ferry.crossing = Seconds{std::max(1LL, std::llround(std::ceil(seconds)))};
        return builder_.add_ferry(ferry);
    }

    Metres length(std::size_t start, std::size_t end) const {
        Metres sum{0};
        for (std::size_t i = start; i < end; ++i) {
            sum += great_circle_distance(to_geo_point(nodes_.nodes[run_[i]].point),
                                         to_geo_point(nodes_.nodes[run_[i + 1]].point));
        }
        return sum;
    }

    /// The network node at which a piece ends. At a barrier every further end gets a node of its
    /// own, joined to the first by a piece without length that only those may use who are let
    /// through.
    NodeId end_at(std::size_t node, const KeptWay& way) {
        const KeptNode& kept = nodes_.nodes[node];
        NodeId& known = network_nodes_[node];
        if (!known.exists()) {
            known = builder_.add_node(to_geo_point(kept.point));
            return known;
        }
        if (kept.stopped.is_empty()) {
            return known;
        }
        const NodeId behind = builder_.add_node(to_geo_point(kept.point));
        const MeansSet allowed = let_through(kept.stopped);
        if (!allowed.is_empty()) {
            NewPiece gate;
            gate.from = known;
            gate.to = behind;
            gate.length = Metres{0};
            // A ferry has no speed on land.
            gate.attributes = way.is_ferry() ? RoadAttributes{} : way.attributes;
            gate.name = ways_.names[way.name];
            gate.road = RoadId{way.id};
            gate.forward = allowed;
            gate.backward = allowed;
            builder_.add_piece(gate);
        }
        return behind;
    }

    static MeansSet let_through(MeansSet stopped) {
        MeansSet allowed;
        for (const Means means :
             {Means::on_foot, Means::motorcycle, Means::car, Means::four_wheel_drive}) {
            allowed = stopped.has(means) ? allowed : allowed.with(means);
        }
        return allowed;
    }

    OsmWays& ways_;
    OsmNodes& nodes_;
    Remarks& left_out_;
    Remarks& assumed_;
    FerryReader ferry_reader_;
    NodePlaces places_;
    NetworkBuilder builder_;
    std::vector<NodeId> network_nodes_;
    TurnWays turn_ways_;
    std::vector<std::size_t> run_;
    Metres run_length_;
    Ferry ferry_;
    NewPiece piece_;
    std::uint64_t roads_ = 0;
    std::uint64_t ferries_ = 0;
    std::uint64_t missing_nodes_ = 0;
};

/// @param id of a node that a kept way, site or river names
const KeptNode& node_of(const OsmNodes& nodes, std::int64_t id) {
    const auto found = std::lower_bound(nodes.ids.begin(), nodes.ids.end(), id);
    return nodes.nodes[static_cast<std::size_t>(found - nodes.ids.begin())];
}

/// In pieces where the file lacks nodes, as at the edge of an extract.
void add_river(std::vector<River>& rivers, const KeptRiver& kept, const OsmNodes& nodes) {
    River piece{kept.name, {}};
    const auto finish = [&] {
        if (piece.line.size() > 1) {
            rivers.push_back(piece);
        }
        piece.line.clear();
    };
    for (const std::int64_t id : kept.node_ids) {
        const KeptNode& node = node_of(nodes, id);
        if (node.is_found) {
            piece.line.push_back(node.point);
        } else {
            finish();
        }
    }
    finish();
}

/// The middle of the nodes that the file has; none if it has none of them.
std::optional<HealthSite> site_of(const KeptSite& site, const OsmNodes& nodes) {
    double latitude = 0;
    double longitude = 0;
    double first_longitude = 0;
    double count = 0;
    for (const std::int64_t id : site.node_ids) {
        const KeptNode& node = node_of(nodes, id);
        if (!node.is_found) {
            continue;
        }
        const GeoPoint point = to_geo_point(node.point);
        if (count == 0) {
            first_longitude = point.longitude().degrees;
        }
        latitude += point.latitude().degrees;
        // Relative to the first, so that a ground across the 180° meridian keeps its middle.
        longitude += std::remainder(point.longitude().degrees - first_longitude, 360.0);
        ++count;
    }
    if (count == 0) {
        return std::nullopt;
    }
    return HealthSite{
        GeoPoint{Latitude{latitude / count},
                 Longitude{std::remainder(first_longitude + longitude / count, 360.0)}},
        site.name, site.kind, fmt::format("way/{}", site.way)};
}

}  // namespace

ImportedMap build_map(OsmWays ways, OsmNodes nodes, const SpeedTable& speeds,
                      const ImportSettings& settings, Remarks& left_out, Remarks& assumed) {
    WayCutter cutter{ways, nodes, speeds, settings, left_out, assumed};
    cutter.cut_all();
    const std::uint64_t turns =
        add_turns(cutter.builder(), ways.turns, cutter.turn_ways(), left_out);
    ImportedMap map{cutter.builder().build(), {}, {}, {}};
    map.health_sites = std::move(nodes.sites);
    for (const KeptSite& site : ways.sites) {
        std::optional<HealthSite> found = site_of(site, nodes);
        if (found) {
            map.health_sites.push_back(std::move(*found));
        } else {
            left_out.add("way: a place of care without a node in the file", site.way);
        }
    }
    for (const KeptRiver& river : ways.rivers) {
        add_river(map.rivers, river, nodes);
    }
    cutter.count_into(map.report);
    map.report.turn_relations = ways.turn_relations;
    map.report.turn_restrictions = turns;
    map.report.barriers = nodes.barriers;
    map.report.fords = nodes.fords;
    map.report.left_out = left_out.list();
    map.report.assumed = assumed.list();
    map.report.components = report_components(map.network, component_examples);
    return map;
}

}  // namespace waybourne::routing
