// What a fuzzer feeds: each target takes any bytes as a foreign file. A refusal is fine; a crash, a
// broken invariant or an unsound result ends the process.
#pragma once

#include <cstddef>
#include <cstdint>

namespace macle::fuzz {

void stl(const std::uint8_t* data, std::size_t size);
void ply(const std::uint8_t* data, std::size_t size);
void obj(const std::uint8_t* data, std::size_t size);
void volume(const std::uint8_t* data, std::size_t size);
void json(const std::uint8_t* data, std::size_t size);
void stone_file(const std::uint8_t* data, std::size_t size);
void appraisal(const std::uint8_t* data, std::size_t size);

struct Target {
    const char* name;
    void (*run)(const std::uint8_t* data, std::size_t size);
};
inline constexpr Target kTargets[] = {{"stl", stl},
                                      {"ply", ply},
                                      {"obj", obj},
                                      {"volume", volume},
                                      {"json", json},
                                      {"stone_file", stone_file},
                                      {"appraisal", appraisal}};

}  // namespace macle::fuzz
