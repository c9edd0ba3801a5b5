// Nested bands of a published system, quoted second-hand (table, crown and pavilion angles and
// heights, total depth; star and lower half from the same system's narrowest band). Symmetry: Gems
// & Gemology 47(4) (2011) 286-295 for the narrowest band; the second from memory.
#include "core/appraise/reference_bands.h"

#include <algorithm>

namespace macle {

namespace {

struct Band {
    double low;
    double high;
};

void add(std::vector<BandReading>& readings, const std::string& what, const std::string& unit,
         const std::optional<double>& value, const std::vector<Band>& bands) {
    if (!value) return;
    BandReading reading{what,
                        unit,
                        *value,
                        static_cast<int>(bands.size()) + 1,
                        static_cast<int>(bands.size()),
                        bands[0].low,
                        bands[0].high};
    for (std::size_t k = bands.size(); k-- > 0;)
        if (*value >= bands[k].low && *value <= bands[k].high)
            reading.band = static_cast<int>(k) + 1;
    readings.push_back(reading);
}

std::optional<double> meanOf(const std::optional<Spread>& spread) {
    return spread ? std::optional<double>(spread->mean) : std::nullopt;
}
std::optional<double> spreadOf(const std::optional<Spread>& spread) {
    return spread ? std::optional<double>(spread->spread()) : std::nullopt;
}

}  // namespace

std::vector<BandReading> againstBands(const MeasuredProportions& m) {
    std::vector<BandReading> r;
    if (!m.out_of_round_percent || !m.table_percent || !m.star_percent || !m.lower_half_percent)
        return r;
    add(r, "Total depth", "%", m.depth_percent,
        {{57.5, 63.0}, {56.0, 64.5}, {53.2, 66.5}, {51.1, 70.2}});
    add(r, "Table", "%", m.table_percent, {{52, 62}, {50, 66}, {47, 69}, {44, 72}});
    add(r, "Crown angle", "deg", meanOf(m.crown_deg),
        {{31.5, 36.5}, {26.5, 38.5}, {22, 40}, {20, 41.5}});
    add(r, "Crown height", "%", m.crown_height_percent, {{12, 17}, {10.5, 18}, {9, 19.5}, {7, 21}});
    add(r, "Pavilion angle", "deg", meanOf(m.pavilion_deg),
        {{40.6, 41.8}, {39.8, 42.2}, {38.8, 43.0}, {37.4, 43.8}});
    add(r, "Pavilion depth", "%", m.pavilion_depth_percent,
        {{42, 44}, {41, 44.5}, {41, 45.5}, {41, 46.5}});
    add(r, "Star length", "%", meanOf(m.star_percent), {{45, 65}});
    add(r, "Lower half length", "%", meanOf(m.lower_half_percent), {{70, 85}, {65, 90}});
    add(r, "Out of round", "%", m.out_of_round_percent, {{0, 0.9}, {0, 1.8}});
    add(r, "Table off the axis", "%", m.table_offset_percent, {{0, 0.6}, {0, 1.2}});
    add(r, "Culet off the axis", "%", m.culet_offset_percent, {{0, 0.6}, {0, 1.2}});
    add(r, "Table from culet", "%", m.table_culet_percent, {{0, 0.9}, {0, 1.8}});
    add(r, "Crown angles, spread", "deg", spreadOf(m.crown_deg), {{0, 1.2}, {0, 2.4}});
    add(r, "Pavilion angles, spread", "deg", spreadOf(m.pavilion_deg), {{0, 0.9}, {0, 1.8}});
    return r;
}

int worstBand(const std::vector<BandReading>& readings) {
    int worst = 0;
    for (const BandReading& reading : readings)
        worst = std::max(worst, reading.band);
    return worst;
}

}  // namespace macle
