/// Kills a process that writes to a journal, at random instants, and looks for what was lost.
/// See `script/drill kills --help`. The last line is one JSON object.

#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <chrono>
#include <csignal>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <map>
#include <random>
#include <sstream>
#include <thread>

#include "journal/open_journal.hpp"
#include "journal/verify.hpp"
#include "tests/journal/cluster.hpp"

using namespace waybourne;
using namespace waybourne::journal;
using namespace waybourne::journal::test;

namespace {

constexpr int writers = 4;
// A round ends within so many milliseconds after the process has started to write.
constexpr unsigned longest_round_ms = 80;
// Of the rounds on PostgreSQL, one in so many kills the server, not the client.
constexpr int server_round = 5;

struct Count {
    int kills = 0;
    int server_kills = 0;
    std::size_t acknowledged = 0;
    std::size_t stored = 0;
    std::size_t lost = 0;
    std::size_t doubled = 0;
    std::size_t retried = 0;
    bool chain_intact = true;
};

Append event(const std::string& key) {
    return {SystemClock{}.now(),
            "drill",
            key,
            {{"drill.first", "round/" + key.substr(0, key.find('/')), "{\"key\": \"" + key + "\"}"},
             {"drill.second", "key/" + key, "{}"}}};
}

/// Writes until it is killed; each acknowledged key and sequence is one line in the pipe.
[[noreturn]] void write_for_ever(const std::string& address, int round, int pipe) {
    try {
        const auto journal = open_journal(address);
        std::vector<std::jthread> threads;
        for (int writer = 0; writer < writers; ++writer) {
            threads.emplace_back([&, writer] {
                for (int i = 0;; ++i) {
                    const std::string key = std::to_string(round) + "/" + std::to_string(writer) +
                                            "/" + std::to_string(i);
                    Sequence first = 0;
                    try {
                        first = journal->append(event(key)).first;
                    } catch (const Unavailable&) {
                        return;  // the server was killed: not acknowledged
                    }
                    // one write of a short line is not torn (PIPE_BUF)
                    const std::string line = key + " " + std::to_string(first) + "\n";
                    if (write(pipe, line.data(), line.size()) < 0) {
                        return;
                    }
                }
            });
        }
        threads.clear();
        pause();
    } catch (const Unavailable&) {
        pause();  // the server was killed before we began
    } catch (const std::exception& error) {
        std::cerr << "the writer: " << error.what() << '\n';
    }
    _exit(1);
}

std::map<std::string, Sequence> acknowledged_in(int pipe) {
    std::string text;
    std::array<char, 4096> part{};
    for (ssize_t count = 0; (count = read(pipe, part.data(), part.size())) > 0;) {
        text.append(part.data(), static_cast<std::size_t>(count));
    }
    close(pipe);
    std::map<std::string, Sequence> acknowledged;
    std::istringstream lines{text};
    std::string key;
    for (Sequence sequence = 0; lines >> key >> sequence;) {
        acknowledged[key] = sequence;
    }
    return acknowledged;
}

class Drill {
public:
    Drill(std::string address, bool is_postgres, std::uint64_t seed)
        : address_(std::move(address)), is_postgres_(is_postgres), random_(seed) {}

    void round(int number) {
        std::array<int, 2> ends{};
        if (pipe(ends.data()) != 0) {
            throw std::runtime_error("no pipe");
        }
        const pid_t child = fork();
        if (child == 0) {
            close(ends[0]);
            write_for_ever(address_, number, ends[1]);
        }
        close(ends[1]);
        wait_a_while();
        const bool is_server = is_postgres_ && number % server_round == server_round - 1;
        if (is_server) {
            cluster().kill();
            ++count_.server_kills;
        }
        ::kill(child, SIGKILL);
        waitpid(child, nullptr, 0);
        ++count_.kills;
        if (is_server) {
            cluster().start();
        }
        look(acknowledged_in(ends[0]), number);
    }

    Count finish() {
        count_.stored = keys_.size();
        const auto journal = open_journal(address_);
        count_.chain_intact =
            count_.chain_intact && verify(*journal).passed() && journal->store_damage().empty();
        return count_;
    }

private:
    /// Microseconds matter: a round may also end before the first write.
    void wait_a_while() {
        const auto longest = std::chrono::milliseconds{longest_round_ms};
        std::this_thread::sleep_for(std::chrono::microseconds{
            random_() %
            static_cast<std::uint64_t>(
                std::chrono::duration_cast<std::chrono::microseconds>(longest).count())});
    }

    void look(const std::map<std::string, Sequence>& acknowledged, int number) {
        const auto journal = open_journal(address_);
        read_new(*journal);
        count_.acknowledged += acknowledged.size();
        for (const auto& [key, sequence] : acknowledged) {
            const auto found = keys_.find(key);
            if (found == keys_.end() || found->second != sequence) {
                ++count_.lost;
                std::cerr << "lost: " << key << '\n';
            }
        }
        retry(*journal, acknowledged, number);
        read_new(*journal);
    }

    /// Who got no answer sends it again; so does who did not hear it.
    void retry(Journal& journal, const std::map<std::string, Sequence>& acknowledged, int number) {
        for (int writer = 0; writer < writers; ++writer) {
            const std::string prefix = std::to_string(number) + "/" + std::to_string(writer) + "/";
            int next = 0;
            while (acknowledged.count(prefix + std::to_string(next)) != 0) {
                ++next;
            }
            for (const int i : {next - 1, next}) {
                if (i >= 0) {
                    journal.append(event(prefix + std::to_string(i)));
                    ++count_.retried;
                }
            }
        }
    }

    void read_new(const Journal& journal) {
        for (auto page = journal.read(chain_.head().sequence, 1000); !page.empty();
             page = journal.read(chain_.head().sequence, 1000)) {
            for (const Envelope& envelope : page) {
                if (const auto fault = chain_.add(envelope)) {
                    count_.chain_intact = false;
                    throw std::runtime_error("event " + std::to_string(fault->sequence) + ": " +
                                             fault->reason);
                }
                if (envelope.part == 1 &&
                    !keys_.emplace(envelope.idempotency_key, envelope.sequence).second) {
                    ++count_.doubled;
                }
            }
        }
    }

    std::string address_;
    bool is_postgres_;
    std::mt19937_64 random_;
    ChainVerifier chain_;
    std::map<std::string, Sequence> keys_;
    Count count_;
};

std::string as_json(const std::string& store, const Count& count) {
    std::ostringstream text;
    text << '"' << store << "\": {\"kills\": " << count.kills
         << ", \"server_kills\": " << count.server_kills
         << ", \"acknowledged\": " << count.acknowledged << ", \"stored\": " << count.stored
         << ", \"retried\": " << count.retried << ", \"lost\": " << count.lost
         << ", \"doubled\": " << count.doubled
         << ", \"chain_intact\": " << (count.chain_intact ? "true" : "false") << '}';
    return text.str();
}

Count drill(const std::string& store, int rounds, std::uint64_t seed) {
    const auto folder =
        std::filesystem::temp_directory_path() / ("waybourne_kills_" + std::to_string(getpid()));
    std::filesystem::create_directories(folder);
    const bool is_postgres = store == "postgresql";
    Drill drill{is_postgres ? new_postgres_address() : (folder / "journal.db").string(),
                is_postgres, seed};
    for (int round = 0; round < rounds; ++round) {
        drill.round(round);
        if ((round + 1) % 100 == 0) {
            std::cerr << store << ": " << round + 1 << " rounds\n";
        }
    }
    const Count count = drill.finish();
    std::filesystem::remove_all(folder);
    return count;
}

}  // namespace

int main(int count, char** values) {
    int rounds = 50;
    std::uint64_t seed = std::random_device{}();
    std::vector<std::string> stores{"sqlite", "postgresql"};
    for (int i = 1; i + 1 < count; i += 2) {
        const std::string name = values[i];
        if (name == "--rounds") {
            rounds = std::atoi(values[i + 1]);
        } else if (name == "--seed") {
            seed = std::strtoull(values[i + 1], nullptr, 10);
        } else if (name == "--store") {
            stores = {values[i + 1]};
        }
    }
    try {
        bool is_good = true;
        std::string line = "{\"drill\": \"kills\", \"seed\": " + std::to_string(seed);
        for (const std::string& store : stores) {
            const Count result = drill(store, rounds, seed);
            is_good = is_good && result.lost == 0 && result.doubled == 0 && result.chain_intact &&
                      result.acknowledged > 0;
            line += ", " + as_json(store, result);
        }
        std::cout << line << "}" << std::endl;
        return is_good ? 0 : 1;
    } catch (const std::exception& error) {
        std::cerr << "kills: " << error.what() << '\n';
        return 1;
    }
}
