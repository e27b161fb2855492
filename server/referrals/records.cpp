#include "server/referrals/records.hpp"

#include <algorithm>

#include "server/referrals/recorded_district.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

Records::Records(std::unique_ptr<journal::Journal> journal, Current<Snapshot>& snapshot,
                 const Clock& clock)
    : journal_(std::move(journal)), snapshot_(snapshot), clock_(clock), base_(snapshot.get()) {
    folded_ = journal::load(*journal_, recorded_fold());
    read_unread(folded_.state, *journal_, folded_.head.sequence);
    saved_ = folded_.head.sequence;
    publish_district();
}

Records::~Records() {
    if (follower_.joinable()) {
        follower_.request_stop();
        follower_.join();
    }
}

void Records::start_following() {
    follower_ = std::jthread{[this](const std::stop_token& stop) { follow(stop); }};
}

void Records::follow(const std::stop_token& stop) {
    constexpr std::chrono::seconds patience{5};
    while (!stop.stop_requested()) {
        try {
            if (journal_->wait_beyond(sequence(), patience, stop) > sequence()) {
                catch_up();
            }
            save_now_and_then();
        } catch (const Unavailable&) {
            // The store will be back or an append will say so; meanwhile readers keep what they
            // have.
            std::this_thread::sleep_for(std::chrono::milliseconds{200});
        }
    }
}

/// A snapshot of the fold keeps the next start quick.
void Records::save_now_and_then() {
    constexpr journal::Sequence every = 10'000;
    journal::Folded<Recorded> copy;
    {
        const std::lock_guard lock{mutex_};
        if (folded_.head.sequence - saved_ < every) {
            return;
        }
        saved_ = folded_.head.sequence;
        copy = folded_;
    }
    journal::save(*journal_, recorded_fold(), copy);
}

journal::Appended Records::append(const journal::Append& append) {
    const auto appended = journal_->append(append);
    catch_up();
    return appended;
}

void Records::catch_up() {
    {
        const std::lock_guard lock{mutex_};
        journal::catch_up(*journal_, recorded_fold(), folded_);
        read_unread(folded_.state, *journal_, folded_.head.sequence);
        publish_district();
    }
    changed_.notify_all();
}

void Records::publish_district() {
    const Recorded& recorded = folded_.state;
    if (recorded.district_version == published_) {
        return;
    }
    const auto before = snapshot_.get();
    auto next = std::make_shared<Snapshot>(*before);
    const Instant now = clock_.now();
    next->facilities = with_reports(base_->facilities, recorded);
    next->report_count = next->facilities.report_count();
    if (recorded.notices != published_notices_ || recorded.lifted != published_lifted_) {
        next->roads = before->roads->with_changes(road_changes_of(*base_, recorded, now), now);
    }
    next->known = folded_.head.sequence;
    ++next->version;
    next->made_at = now;
    snapshot_.publish(std::move(next));
    published_ = recorded.district_version;
    published_notices_ = recorded.notices;
    published_lifted_ = recorded.lifted;
}

journal::Sequence Records::sequence() const {
    const std::lock_guard lock{mutex_};
    return folded_.head.sequence;
}

std::shared_ptr<const ReferralRecord> Records::find(const std::string& code) const {
    journal::Sequence last = 0;
    {
        const std::lock_guard lock{mutex_};
        const auto live = folded_.state.live.find(code);
        if (live != folded_.state.live.end()) {
            return live->second;
        }
        if (folded_.state.summaries.count(code) == 0) {
            return nullptr;
        }
        last = folded_.head.sequence;
    }
    return read_record(*journal_, code, last);
}

std::optional<ReferralSummary> Records::find_summary(const std::string& code) const {
    const std::lock_guard lock{mutex_};
    const auto found = folded_.state.summaries.find(code);
    return found == folded_.state.summaries.end() ? std::nullopt : std::optional(found->second);
}

std::vector<std::shared_ptr<const ReferralRecord>> Records::live() const {
    const std::lock_guard lock{mutex_};
    std::vector<std::shared_ptr<const ReferralRecord>> all;
    for (const auto& [code, record] : folded_.state.live) {
        all.push_back(record);
    }
    return all;
}

std::vector<ReferralSummary> Records::page(
    journal::Sequence before, std::size_t most,
    const std::function<bool(const ReferralSummary&)>& is_wanted) const {
    const std::lock_guard lock{mutex_};
    std::vector<ReferralSummary> found;
    const auto& by_opening = folded_.state.by_opening;
    for (auto at = by_opening.lower_bound(before);
         at != by_opening.begin() && found.size() < most;) {
        --at;
        const ReferralSummary& summary = folded_.state.summaries.at(at->second);
        if (is_wanted(summary)) {
            found.push_back(summary);
        }
    }
    return found;
}

std::optional<RoadNotice> Records::find_notice(const std::string& id) const {
    const std::lock_guard lock{mutex_};
    const auto found = folded_.state.notices.find(id);
    return found == folded_.state.notices.end() ? std::nullopt : std::optional(found->second);
}

std::vector<RoadNotice> Records::notices() const {
    const std::lock_guard lock{mutex_};
    std::vector<RoadNotice> all;
    for (const auto& [id, notice] : folded_.state.notices) {
        all.push_back(notice);
    }
    return all;
}

VehicleReports Records::vehicle_reports() const {
    const std::lock_guard lock{mutex_};
    return folded_.state.vehicles;
}

std::optional<ShiftHandover> Records::find_handover(const std::string& id) const {
    const std::lock_guard lock{mutex_};
    const auto found = folded_.state.handovers.find(id);
    return found == folded_.state.handovers.end() ? std::nullopt : std::optional(found->second);
}

std::vector<ShiftHandover> Records::handovers(bool is_practice, std::size_t most) const {
    const std::lock_guard lock{mutex_};
    std::vector<ShiftHandover> newest;
    const auto& all = folded_.state.handovers;
    for (auto at = all.rbegin(); at != all.rend() && newest.size() < most; ++at) {
        if (at->second.is_practice == is_practice) {
            newest.push_back(at->second);
        }
    }
    return newest;
}

std::vector<std::string> Records::held_subjects() const {
    const std::lock_guard lock{mutex_};
    std::vector<std::string> held;
    for (const auto& [code, summary] : folded_.state.summaries) {
        if (summary.is_held) {
            held.push_back(subject_of(code));
        }
    }
    return held;
}

journal::Sequence Records::wait_beyond(journal::Sequence seen,
                                       std::chrono::milliseconds at_most) const {
    std::unique_lock lock{mutex_};
    changed_.wait_for(lock, at_most, [&] { return folded_.head.sequence > seen; });
    return folded_.head.sequence;
}

std::vector<Step> Records::steps_after(journal::Sequence seen, std::size_t most) const {
    std::vector<Step> steps;
    {
        const std::lock_guard lock{mutex_};
        const auto& recent = folded_.state.recent;
        if (!recent.empty() && recent.front().sequence <= seen + 1) {
            const auto first = recent.begin() + (seen + 1 - recent.front().sequence);
            const auto left =
                static_cast<std::size_t>(recent.end() - std::min(first, recent.end()));
            std::copy_n(first, std::min(left, most), std::back_inserter(steps));
            return steps;
        }
        if (folded_.head.sequence <= seen) {
            return steps;
        }
    }
    for (const journal::Envelope& envelope : journal_->read(seen, most)) {
        steps.push_back({envelope.sequence, envelope.kind, envelope.subject, envelope.at});
    }
    return steps;
}

}  // namespace waybourne::server
