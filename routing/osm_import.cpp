#include "routing/osm_import.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <functional>
#include <osmium/io/bzip2_compression.hpp>
#include <osmium/io/gzip_compression.hpp>
#include <osmium/io/pbf_input.hpp>
#include <osmium/io/reader.hpp>
#include <osmium/io/xml_input.hpp>
#include <osmium/osm.hpp>
#include <unordered_set>

#include "routing/internal/node_places.hpp"
#include "routing/internal/osm_tags.hpp"
#include "routing/internal/osm_ways.hpp"
#include "vocabulary/error.hpp"
#include "vocabulary/time_zone.hpp"

namespace waybourne::routing {

namespace {

/// The library walks from tag to tag by the zero bytes that end keys and values; one inside them
/// would lead it past the last.
void refuse_split_tags(const osmium::OSMObject& object) {
    const osmium::TagList& tags = object.tags();
    if (std::count(tags.data() + sizeof(tags), tags.data() + tags.byte_size(), '\0') % 2 != 0) {
        throw InputError(fmt::format("{} {}: a zero byte inside a key or value",
                                     osmium::item_type_to_name(object.type()), object.id()));
    }
}

/// One reading of a file: buffers go to a visitor, and whoever waits may stop it.
class FileReader {
public:
    FileReader(const osmium::io::File& file, osmium::osm_entity_bits::type kinds,
               const Progress& progress, const std::stop_token& stop)
        : reader_(file, kinds, osmium::io::read_meta::no), progress_(progress), stop_(stop) {}

    osmium::io::Header header() { return reader_.header(); }
    std::uint64_t size() const { return reader_.file_size(); }

    template <typename Visit>
    void each(std::string_view doing, Visit visit) {
        while (const osmium::memory::Buffer buffer = reader_.read()) {
            if (stop_.stop_requested()) {
                throw Unavailable("the import was stopped");
            }
            if (reader_.file_size() > 0) {
                report(progress_, doing,
                       static_cast<double>(reader_.offset()) /
                           static_cast<double>(reader_.file_size()));
            }
            for (const osmium::OSMObject& object : buffer.select<osmium::OSMObject>()) {
                refuse_split_tags(object);
                visit(object);
            }
        }
        reader_.close();
    }

private:
    osmium::io::Reader reader_;
    const Progress& progress_;
    const std::stop_token& stop_;
};

std::string text_of(const osmium::TagList& tags, const char* key) {
    return tags.get_value_by_key(key, "");
}

FerryTags ferry_tags(const osmium::Way& way) {
    const osmium::TagList& tags = way.tags();
    return {way.id(),
            text_of(tags, "duration"),
            text_of(tags, "interval"),
            text_of(tags, "timetable"),
            text_of(tags, "opening_hours"),
            !is_for_dry_season(tags),
            !is_for_wet_season(tags)};
}

/// The first reading: which ways are roads, and which nodes they need.
class WayVisitor {
public:
    WayVisitor(const SpeedTable& speeds, Remarks& left_out, Remarks& assumed)
        : speeds_(speeds), left_out_(left_out), assumed_(assumed) {}

    void operator()(const osmium::OSMEntity& entity) {
        switch (entity.type()) {
            case osmium::item_type::way:
                way(static_cast<const osmium::Way&>(entity));
                break;
            case osmium::item_type::relation:
                relation(static_cast<const osmium::Relation&>(entity));
                break;
            default:
                break;
        }
    }

    /// Files put together from several may hold a way twice; the first counts.
    OsmWays take() {
        std::unordered_set<std::int64_t> seen;
        const auto is_repeated = [&](const KeptWay& way) {
            const bool is_known = !seen.insert(way.id).second;
            if (is_known) {
                left_out_.add("way: stands twice in the file", way.id);
            }
            return is_known;
        };
        kept_.ways.erase(std::remove_if(kept_.ways.begin(), kept_.ways.end(), is_repeated),
                         kept_.ways.end());
        return std::move(kept_);
    }

private:
    /// Most ways of a map are buildings and the like: one look at their keys is enough for them.
    static bool may_matter(const osmium::TagList& tags) {
        return std::any_of(tags.begin(), tags.end(), [](const osmium::Tag& tag) {
            const std::string_view key = tag.key();
            return key == "highway" || key == "healthcare" || key == "route" || key == "amenity" ||
                   key == "waterway";
        });
    }

    void way(const osmium::Way& way) {
        if (!way.visible() || !may_matter(way.tags())) {
            return;
        }
        keep_site(way);
        keep_river(way);
        WayMeaning meaning = meaning_of(way.tags(), speeds_);
        if (meaning.left_out != nullptr) {
            left_out_.add(meaning.left_out, way.id());
        }
        if (!meaning.road) {
            return;
        }
        if (way.nodes().size() < 2) {
            left_out_.add("way: fewer than two nodes", way.id());
            return;
        }
        for (const char* remark : meaning.road->assumed) {
            assumed_.add(remark, way.id());
        }
        keep_road(way, *meaning.road);
    }

    void keep_road(const osmium::Way& way, const RoadTags& road) {
        KeptWay kept{.id = way.id(),
                     .first_node = kept_.node_ids.size(),
                     .name = name_number(name_of(way.tags())),
                     .attributes = road.attributes,
                     .forward = road.forward,
                     .backward = road.backward};
        if (kept.is_ferry()) {
            kept.ferry = static_cast<std::uint32_t>(kept_.ferries.size());
            kept_.ferries.push_back(ferry_tags(way));
        }
        for (const osmium::NodeRef& node : way.nodes()) {
            const bool is_repeated =
                kept_.node_ids.size() > kept.first_node && kept_.node_ids.back() == node.ref();
            if (!is_repeated) {
                kept_.node_ids.push_back(node.ref());
            }
        }
        kept.node_count = static_cast<std::uint32_t>(kept_.node_ids.size() - kept.first_node);
        if (kept.node_count < 2) {
            left_out_.add("way: fewer than two nodes", way.id());
            kept_.node_ids.resize(kept.first_node);
            return;
        }
        kept_.ways.push_back(kept);
    }

    void keep_site(const osmium::Way& way) {
        const char* kind = health_site_kind(way.tags());
        if (kind == nullptr) {
            return;
        }
        KeptSite site{way.id(), way.tags().get_value_by_key("name", ""), kind, {}};
        const std::size_t count = way.nodes().size();
        // A closed ring names its first node twice; once is enough for its middle.
        const bool is_ring = count > 1 && way.nodes().front().ref() == way.nodes().back().ref();
        for (std::size_t i = 0; i < (is_ring ? count - 1 : count); ++i) {
            site.node_ids.push_back(way.nodes()[i].ref());
        }
        kept_.sites.push_back(std::move(site));
    }

    void keep_river(const osmium::Way& way) {
        const std::string kind = text_of(way.tags(), "waterway");
        if (kind != "river" && kind != "canal") {
            return;
        }
        KeptRiver river{std::string{name_of(way.tags())}, {}};
        for (const osmium::NodeRef& node : way.nodes()) {
            river.node_ids.push_back(node.ref());
        }
        kept_.rivers.push_back(std::move(river));
    }

    void relation(const osmium::Relation& relation) {
        if (!relation.visible()) {
            return;
        }
        const osmium::TagList& tags = relation.tags();
        const std::string type = text_of(tags, "type");
        if (type == "route" && text_of(tags, "route") == "ferry") {
            left_out_.add("relation: a ferry route, only ways tagged as ferries are used",
                          relation.id());
        } else if (health_site_kind(tags) != nullptr) {
            left_out_.add("relation: a place of care, only nodes and ways are read", relation.id());
        } else if (is_turn_restriction(tags)) {
            ++kept_.turn_relations;
            if (auto turn = read_turn(relation, left_out_, assumed_)) {
                kept_.turns.push_back(std::move(*turn));
            }
        }
    }

    std::uint32_t name_number(std::string_view name) {
        if (name.empty()) {
            return 0;
        }
        const auto [place, is_new] = name_numbers_.try_emplace(
            std::string{name}, static_cast<std::uint32_t>(kept_.names.size()));
        if (is_new) {
            kept_.names.emplace_back(name);
        }
        return place->second;
    }

    const SpeedTable& speeds_;
    Remarks& left_out_;
    Remarks& assumed_;
    OsmWays kept_;
    std::unordered_map<std::string, std::uint32_t> name_numbers_;
};

/// The nodes to look for in the second reading, with how often roads name each.
OsmNodes wanted_nodes(const OsmWays& ways) {
    constexpr std::uint8_t many = 200;
    std::vector<std::int64_t> uses = ways.node_ids;
    uses.reserve(uses.size() + 2 * ways.ways.size());
    for (const KeptWay& way : ways.ways) {
        uses.push_back(ways.node_ids[way.first_node]);
        uses.push_back(ways.node_ids[way.first_node + way.node_count - 1]);
    }
    std::sort(uses.begin(), uses.end());
    std::vector<std::int64_t> other_ids;
    for (const KeptSite& site : ways.sites) {
        other_ids.insert(other_ids.end(), site.node_ids.begin(), site.node_ids.end());
    }
    for (const KeptRiver& river : ways.rivers) {
        other_ids.insert(other_ids.end(), river.node_ids.begin(), river.node_ids.end());
    }
    std::sort(other_ids.begin(), other_ids.end());

    OsmNodes result;
    auto use = uses.begin();
    auto other = other_ids.begin();
    while (use != uses.end() || other != other_ids.end()) {
        const bool is_road = use != uses.end() && (other == other_ids.end() || *use <= *other);
        const std::int64_t id = is_road ? *use : *other;
        KeptNode node;
        for (; use != uses.end() && *use == id; ++use) {
            node.uses = static_cast<std::uint8_t>(std::min<int>(node.uses + 1, many));
        }
        while (other != other_ids.end() && *other == id) {
            ++other;
        }
        result.ids.push_back(id);
        result.nodes.push_back(node);
    }
    return result;
}

/// The second reading: where the nodes are and what stands on them. Where ways are read too, it
/// makes sure that no node comes after a way that needed it.
class NodeVisitor {
public:
    NodeVisitor(const OsmWays& ways, OsmNodes& nodes, Remarks& left_out, Remarks& assumed)
        : ways_(ways), nodes_(nodes), left_out_(left_out), assumed_(assumed), places_(nodes.ids) {}

    void operator()(const osmium::OSMEntity& entity) {
        if (entity.type() == osmium::item_type::node) {
            node(static_cast<const osmium::Node&>(entity));
        } else if (entity.type() == osmium::item_type::way) {
            way(static_cast<const osmium::Way&>(entity));
        }
    }

private:
    void node(const osmium::Node& node) {
        if (!node.visible()) {
            return;
        }
        if (!node.tags().empty()) {
            keep_site(node);
        }
        KeptNode* kept = find(node.id());
        if (kept == nullptr) {
            return;
        }
        if (!node.location().valid()) {
            left_out_.add("node: a position outside the earth", node.id());
            return;
        }
        if (kept->is_awaited && !kept->is_found) {
            throw InputError(fmt::format(
                "node {} stands after a way that runs over it; sort the file first, e.g. with "
                "`osmium sort`",
                node.id()));
        }
        kept->point = {node.location().y(), node.location().x()};
        kept->is_found = true;
        if (!node.tags().empty() && kept->uses > 0) {
            read_tags(node, *kept);
        }
    }

    /// Kept ways come in the order in which they were kept.
    void way(const osmium::Way& way) {
        if (next_way_ == ways_.ways.size() || ways_.ways[next_way_].id != way.id()) {
            return;
        }
        const KeptWay& kept = ways_.ways[next_way_];
        ++next_way_;
        for (std::uint32_t i = 0; i < kept.node_count; ++i) {
            KeptNode* node = find(ways_.node_ids[kept.first_node + i]);
            if (node != nullptr && !node->is_found) {
                node->is_awaited = true;
            }
        }
    }

    KeptNode* find(std::int64_t id) {
        const std::size_t place = places_.find(id);
        return place < nodes_.ids.size() && nodes_.ids[place] == id ? &nodes_.nodes[place]
                                                                    : nullptr;
    }

    void read_tags(const osmium::Node& node, KeptNode& kept) {
        std::vector<const char*> assumed;
        kept.stopped = stopped_at(node.tags(), assumed);
        kept.is_ford = is_ford_node(node.tags());
        nodes_.barriers += kept.stopped.is_empty() ? 0U : 1U;
        nodes_.fords += kept.is_ford ? 1U : 0U;
        for (const char* remark : assumed) {
            assumed_.add(remark, node.id());
        }
    }

    void keep_site(const osmium::Node& node) {
        const char* kind = health_site_kind(node.tags());
        if (kind != nullptr && node.location().valid()) {
            nodes_.sites.push_back({to_geo_point({node.location().y(), node.location().x()}),
                                    node.tags().get_value_by_key("name", ""), kind,
                                    fmt::format("node/{}", node.id())});
        }
    }

    const OsmWays& ways_;
    OsmNodes& nodes_;
    Remarks& left_out_;
    Remarks& assumed_;
    NodePlaces places_;
    std::size_t next_way_ = 0;
};

/// Whether a file promises nodes before ways before relations, each by number.
bool promises_order(const osmium::io::Header& header) {
    if (header.has_multiple_object_versions()) {
        throw InputError("a history or change file: several versions of the same roads");
    }
    return header.get("sorting") == "Type_then_ID";
}

ImportedMap import_file(const osmium::io::File& file, std::uint64_t bytes, const SpeedTable& speeds,
                        const ImportSettings& settings, const Progress& progress,
                        const std::stop_token& stop) {
    const auto start = std::chrono::steady_clock::now();
    Remarks left_out{settings.examples};
    Remarks assumed{settings.examples};
    namespace kinds = osmium::osm_entity_bits;
    FileReader way_reader{file, kinds::way | kinds::relation, progress, stop};
    const bool is_sorted = promises_order(way_reader.header());
    WayVisitor way_visitor{speeds, left_out, assumed};
    way_reader.each("reading ways", std::ref(way_visitor));
    OsmWays ways = way_visitor.take();
    if (ways.ways.empty()) {
        throw InputError("no road in this file");
    }
    OsmNodes nodes = wanted_nodes(ways);
    FileReader{file, is_sorted ? kinds::node : kinds::node | kinds::way, progress, stop}.each(
        "reading nodes", NodeVisitor{ways, nodes, left_out, assumed});
    report(progress, "building the network", -1);
    ImportedMap map =
        build_map(std::move(ways), std::move(nodes), speeds, settings, left_out, assumed);
    map.report.bytes = bytes;
    map.report.duration = std::chrono::duration_cast<std::chrono::milliseconds>(
        std::chrono::steady_clock::now() - start);
    return map;
}

/// Before anything is read: a zone that is not known is no fault of the map, and must not pass for
/// a ferry whose timetable is not understood.
void check(const ImportSettings& settings) {
    load_time_zone(settings.time_zone);
}

/// Whatever the reading library says becomes one kind of error with the file's name.
template <typename Import>
ImportedMap with_named_errors(const std::string& name, Import import) {
    try {
        return import();
    } catch (const Unavailable&) {
        throw;
    } catch (const InputError& error) {
        throw InputError(fmt::format("{}: {}", name, error.what()), error.fields());
    } catch (const std::bad_alloc&) {
        throw;
    } catch (const std::exception& error) {
        throw InputError(
            fmt::format("{}: not readable as OpenStreetMap data: {}", name, error.what()));
    }
}

}  // namespace

ImportedMap import_osm(const std::filesystem::path& file, const SpeedTable& speeds,
                       const ImportSettings& settings, const Progress& progress,
                       const std::stop_token& stop) {
    check(settings);
    return with_named_errors(file.string(), [&] {
        const std::uint64_t bytes = std::filesystem::file_size(file);
        return import_file(osmium::io::File{file.string()}, bytes, speeds, settings, progress,
                           stop);
    });
}

ImportedMap import_osm_text(std::string_view content, const std::string& format,
                            const SpeedTable& speeds, const ImportSettings& settings) {
    check(settings);
    return with_named_errors("map", [&] {
        return import_file(osmium::io::File{content.data(), content.size(), format}, content.size(),
                           speeds, settings, {}, {});
    });
}

}  // namespace waybourne::routing
