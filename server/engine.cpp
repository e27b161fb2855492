#include "server/engine.hpp"

#include "vocabulary/error.hpp"

namespace waybourne::server {

Engine engine_for(EngineChoice choice, std::uint32_t nodes) {
    switch (choice) {
        case EngineChoice::reference:
            return Engine::reference;
        case EngineChoice::hierarchy:
            return Engine::hierarchy;
        case EngineChoice::automatic:
            break;
    }
    return nodes >= fewest_nodes_for_hierarchy ? Engine::hierarchy : Engine::reference;
}

std::string to_name(Engine engine) {
    return engine == Engine::reference ? "reference" : "hierarchy";
}

EngineChoice parse_engine_choice(std::string_view text) {
    if (text == "automatic") {
        return EngineChoice::automatic;
    }
    if (text == "reference") {
        return EngineChoice::reference;
    }
    if (text == "hierarchy") {
        return EngineChoice::hierarchy;
    }
    throw InputError("the engine is automatic, reference or hierarchy, not \"" + std::string(text) +
                     "\"");
}

}  // namespace waybourne::server
