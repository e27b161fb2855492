#pragma once
/// What serving rests on, wired together.

#include <chrono>
#include <functional>
#include <memory>
#include <string>

#include "server/current.hpp"
#include "server/http/endpoint.hpp"
#include "server/metrics.hpp"
#include "server/security/audit.hpp"
#include "server/security/guard.hpp"
#include "server/snapshot.hpp"
#include "server/workers.hpp"
#include "vocabulary/time.hpp"

namespace waybourne::server {

class Records;
class Desk;
class PackShelf;
class PageFiles;
class Texting;

/// Lives as long as the server does. Everything here may be used from several threads.
struct Application {
    Current<Snapshot> snapshot;
    const Clock& clock;
    Metrics& metrics;
    Workers& workers;
    /// `docs/openapi.yaml`
    std::string openapi;
    /// Null: nobody needs a key.
    Guard* guard = nullptr;
    /// Null: nothing that could be read is stored.
    AuditTrail* audit = nullptr;
    /// What the journal says, and where people tell what happened; null: this server keeps no
    /// journal, and what needs one is not available.
    Records* records = nullptr;
    Desk* desk = nullptr;
    /// Called after roads have changed or a vehicle was reported: open referrals may be hit.
    std::function<void()> look_again = {};
    /// Null: this server makes no packs for phones.
    PackShelf* packs = nullptr;
    /// Where the links on printed notes lead, e.g. `https://district.example`; empty: the code
    /// alone is printed.
    std::string link_base = {};
    /// Null: no page is served.
    std::shared_ptr<const PageFiles> page = nullptr;
    /// Null: no text messages.
    Texting* texting = nullptr;
    /// A planner's question that takes longer is stopped.
    std::chrono::milliseconds planning_limit = std::chrono::seconds{30};
};

/// Every endpoint, each calling the functions of `answer.hpp`. `application` must outlive them.
EndpointTable all_endpoints(const Application& application);

}  // namespace waybourne::server
