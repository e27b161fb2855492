#include "phone/sha256.hpp"

#include <array>
#include <bit>
#include <cstddef>
#include <cstdint>

namespace waybourne::phone {

namespace {

constexpr std::size_t block_bytes = 64;

// FIPS 180-4, section 4.2.2: the first 32 bits of the fractional parts of the cube roots of the
// first 64 primes.
constexpr std::array<std::uint32_t, 64> round_constants{
    0x428a2f98, 0x71374491, 0xb5c0fbcf, 0xe9b5dba5, 0x3956c25b, 0x59f111f1, 0x923f82a4, 0xab1c5ed5,
    0xd807aa98, 0x12835b01, 0x243185be, 0x550c7dc3, 0x72be5d74, 0x80deb1fe, 0x9bdc06a7, 0xc19bf174,
    0xe49b69c1, 0xefbe4786, 0x0fc19dc6, 0x240ca1cc, 0x2de92c6f, 0x4a7484aa, 0x5cb0a9dc, 0x76f988da,
    0x983e5152, 0xa831c66d, 0xb00327c8, 0xbf597fc7, 0xc6e00bf3, 0xd5a79147, 0x06ca6351, 0x14292967,
    0x27b70a85, 0x2e1b2138, 0x4d2c6dfc, 0x53380d13, 0x650a7354, 0x766a0abb, 0x81c2c92e, 0x92722c85,
    0xa2bfe8a1, 0xa81a664b, 0xc24b8b70, 0xc76c51a3, 0xd192e819, 0xd6990624, 0xf40e3585, 0x106aa070,
    0x19a4c116, 0x1e376c08, 0x2748774c, 0x34b0bcb5, 0x391c0cb3, 0x4ed8aa4a, 0x5b9cca4f, 0x682e6ff3,
    0x748f82ee, 0x78a5636f, 0x84c87814, 0x8cc70208, 0x90befffa, 0xa4506ceb, 0xbef9a3f7, 0xc67178f2};

using State = std::array<std::uint32_t, 8>;

std::array<std::uint32_t, 64> schedule_of(std::string_view block) {
    std::array<std::uint32_t, 64> w{};
    for (std::size_t i = 0; i < block_bytes; ++i) {
        w[i / 4] = w[i / 4] << 8U | static_cast<unsigned char>(block[i]);
    }
    for (std::size_t i = 16; i < w.size(); ++i) {
        const std::uint32_t near = w[i - 2];
        const std::uint32_t far = w[i - 15];
        w[i] = w[i - 16] + w[i - 7] + (std::rotr(far, 7) ^ std::rotr(far, 18) ^ far >> 3U) +
               (std::rotr(near, 17) ^ std::rotr(near, 19) ^ near >> 10U);
    }
    return w;
}

/// Section 6.2.2; the working variables a to h stand in `v`.
void take_block(State& state, std::string_view block) {
    const auto w = schedule_of(block);
    State v = state;
    for (std::size_t i = 0; i < w.size(); ++i) {
        const std::uint32_t choice = (v[4] & v[5]) ^ (~v[4] & v[6]);
        const std::uint32_t majority = (v[0] & v[1]) ^ (v[0] & v[2]) ^ (v[1] & v[2]);
        const std::uint32_t first =
            v[7] + (std::rotr(v[4], 6) ^ std::rotr(v[4], 11) ^ std::rotr(v[4], 25)) + choice +
            round_constants[i] + w[i];
        const std::uint32_t second =
            (std::rotr(v[0], 2) ^ std::rotr(v[0], 13) ^ std::rotr(v[0], 22)) + majority;
        v = {first + second, v[0], v[1], v[2], v[3] + first, v[4], v[5], v[6]};
    }
    for (std::size_t i = 0; i < state.size(); ++i) {
        state[i] += v[i];
    }
}

/// What is left over, a bit, zeros, and the length in bits: one block or two (section 5.1.1).
std::string last_blocks(std::string_view rest, std::uint64_t all_bytes) {
    constexpr std::size_t length_bytes = 8;
    std::string end{rest};
    end += '\x80';
    while (end.size() % block_bytes != block_bytes - length_bytes) {
        end += '\0';
    }
    for (std::size_t i = 0; i < length_bytes; ++i) {
        end += static_cast<char>((all_bytes * 8) >> (8 * (length_bytes - 1 - i)) & 0xFFU);
    }
    return end;
}

}  // namespace

std::string plain_sha256(std::string_view bytes) {
    // Section 5.3.3: from the square roots of the first eight primes.
    State state{0x6a09e667, 0xbb67ae85, 0x3c6ef372, 0xa54ff53a,
                0x510e527f, 0x9b05688c, 0x1f83d9ab, 0x5be0cd19};
    const std::size_t whole = bytes.size() / block_bytes * block_bytes;
    for (std::size_t at = 0; at < whole; at += block_bytes) {
        take_block(state, bytes.substr(at, block_bytes));
    }
    const std::string end = last_blocks(bytes.substr(whole), bytes.size());
    for (std::size_t at = 0; at < end.size(); at += block_bytes) {
        take_block(state, std::string_view{end}.substr(at, block_bytes));
    }
    std::string digits;
    for (const std::uint32_t word : state) {
        for (unsigned shift = 32; shift > 0; shift -= 4) {
            digits += "0123456789abcdef"[word >> (shift - 4) & 0xFU];
        }
    }
    return digits;
}

}  // namespace waybourne::phone
