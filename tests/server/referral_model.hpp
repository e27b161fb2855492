#pragma once
/// A model of referrals as simple as the tables of docs/referral-life.md (steps and states) and of
/// server/referrals/permission.hpp (who may what), to hold the server to.

#include <cstddef>
#include <string>
#include <vector>

#include "server/caller.hpp"

namespace waybourne::server::test {

/// One referral as the model knows it.
struct Known {
    std::string sender = {};
    std::string asked = {};
    std::string at = {};
    std::string vehicle = {};
    bool is_practice = false;
    std::string reply = "none";
    int journey = 0;  ///< 0 not begun, 1 sent, 2 with her, 3 departed, 4 arrived, 5 received
    /// How far the vehicle has come that was assigned after she had left; -1: none was.
    int takeover = -1;
    bool is_refused = false;
    bool is_lost = false;
    bool is_diverted = false;
    bool has_care = false;
    bool is_told = false;  ///< the sender knows the outcome
    std::string end = {};
    std::size_t events = 1;
    std::string tag = {};
};

/// The steps that are tried.
const std::vector<std::string>& all_steps();

std::string state_of(const Known& known);
bool is_possible(const Known& known, const std::string& step);
/// The step has been told. @param place of a diversion
void apply(Known& known, const std::string& step, const std::string& place);

bool is_at(const Caller& caller, const std::string& place);
bool sees(const Caller& caller, const Known& known);
bool tells(const Caller& caller, const std::string& step);

}  // namespace waybourne::server::test
