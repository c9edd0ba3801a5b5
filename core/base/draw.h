// Random numbers that are the same on every machine, unlike the distributions of <random>.
#pragma once

#include <Eigen/Core>
#include <cstdint>

namespace macle {

// Small counter-free generator with a published recurrence (SplitMix64: Steele, Lea, Flood,
// OOPSLA 2014).
class Draw {
  public:
    explicit Draw(std::uint64_t seed) : state_(seed) {}
    std::uint64_t bits();
    double unit();    // [0, 1)
    double normal();  // mean 0, deviation 1 (sum of twelve uniforms)
    Eigen::Vector3d direction();

  private:
    std::uint64_t state_;
};

// One seed from several numbers.
std::uint64_t mixed(std::uint64_t a, std::uint64_t b, std::uint64_t c);

}  // namespace macle
