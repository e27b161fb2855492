#include "triage/protocol_check.hpp"

#include "triage/internal/protocol_proofs.hpp"
#include "triage/protocol_file.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::triage {

namespace {

std::string_view heading(ProtocolFault::Kind kind) {
    using Kind = ProtocolFault::Kind;
    switch (kind) {
        case Kind::unreadable:
            return "cannot be read";
        case Kind::worse_asks_less:
            return "worse asks for less";
        case Kind::later_deadline:
            return "worse gives more time";
        case Kind::gap:
            return "gap";
        case Kind::unknown_taken_as_no:
            return "unknown is taken as no";
        case Kind::ignored:
            return "ignored";
        case Kind::unreachable:
            return "can never be reached";
        case Kind::no_source:
            return "no source";
        case Kind::incomplete_dose:
            return "incomplete dose";
        case Kind::missing_text:
            return "missing text";
        case Kind::not_proven:
            return "not proven";
    }
    return "fault";
}

}  // namespace

ProtocolVerdict check_protocol(const Protocol& protocol, const Catalogue& texts) {
    ProtocolVerdict verdict;
    verdict.rules = protocol.rules.size();
    try {
        const ProofBench bench(protocol);
        prove_worse_asks_no_less(bench, verdict);
        prove_readings_add_up(bench, verdict);
        prove_all_reachable(bench, verdict);
        prove_nothing_ignored(bench, verdict);
        check_parts(bench, texts, verdict);
    } catch (const InputError& error) {
        verdict.faults.push_back({ProtocolFault::Kind::not_proven, "ratios", error.what(), {}});
    }
    return verdict;
}

ProtocolVerdict check_protocol_file(std::string_view json, const Catalogue& texts) {
    try {
        return check_protocol(parse_protocol(json), texts);
    } catch (const InputError& error) {
        ProtocolVerdict verdict;
        for (const FieldError& field : error.fields()) {
            verdict.faults.push_back(
                {ProtocolFault::Kind::unreadable, field.pointer, field.detail, std::nullopt});
        }
        if (verdict.faults.empty()) {
            verdict.faults.push_back(
                {ProtocolFault::Kind::unreadable, "#", error.what(), std::nullopt});
        }
        return verdict;
    }
}

std::string to_text(const ProtocolFault& fault) {
    std::string text =
        fault.where + ": " + std::string(heading(fault.kind)) + ": " + fault.explanation + "\n";
    if (!fault.counter_example) {
        return text;
    }
    const CounterExample& example = *fault.counter_example;
    text += "  finding:";
    for (const CounterExample::Line& line : example.findings) {
        text += " " + line.field + " = " + line.value + ";";
    }
    text += example.findings.empty() ? " nothing answered" : " nothing else answered";
    text += example.change ? " but the field that changes\n" : "\n";
    if (example.change) {
        text += "  " + example.change->field + " goes from " + example.change->before + " to " +
                example.change->after + "\n";
    }
    if (!example.lost.empty()) {
        text += "  lost: " + example.lost + "\n  asked for instead: " + example.instead + "\n";
    }
    return text;
}

}  // namespace waybourne::triage
