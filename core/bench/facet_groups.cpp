#include "core/bench/facet_groups.h"

#include <algorithm>
#include <cctype>
#include <cmath>
#include <set>

#include "core/cut/facet_edit.h"

namespace macle {

namespace {

constexpr std::size_t kFirst = 4;         // mains of a half that are set before the others
constexpr double kLevelBelow_deg = 1e-6;  // a base is level by construction

struct Named {
    std::string name;
    FacetKind kind = FacetKind::Other;
    double angle_deg = 0.0;
    double azimuth_deg = 0.0;
};

std::vector<Named> facetsOf(const Design& design) {
    std::vector<Named> all;
    std::set<std::string> known;
    for (const ConvexPart& part : design.parts)
        for (const Facet& facet : part.facets)
            if (known.insert(facet.name).second)
                all.push_back(
                    {facet.name, facet.kind, facetAngle_deg(facet), facetAzimuth_deg(facet)});
    return all;
}

double between_deg(double a, double b) {
    const double off = std::fmod(std::abs(a - b), 360.0);
    return std::min(off, 360.0 - off);
}

// Of the first row, a quarter turn apart each, opposite ones after one another.
std::vector<Named> firstOf(const std::vector<Named>& mains) {
    std::vector<Named> row;
    for (const Named& facet : mains)
        if (rowOf(facet.name) == rowOf(mains.front().name)) row.push_back(facet);
    std::vector<Named> first;
    const double start = row.front().azimuth_deg;
    for (const double turn : {0.0, 180.0, 90.0, 270.0}) {
        if (row.empty() || first.size() == kFirst) break;
        const auto nearest =
            std::min_element(row.begin(), row.end(), [&](const Named& a, const Named& b) {
                return between_deg(a.azimuth_deg, start + turn) <
                       between_deg(b.azimuth_deg, start + turn);
            });
        first.push_back(*nearest);
        row.erase(nearest);
    }
    return first;
}

std::vector<std::string> names(const std::vector<Named>& facets) {
    std::vector<std::string> list;
    for (const Named& facet : facets)
        list.push_back(facet.name);
    return list;
}

std::string plural(std::string row) {
    if (row.ends_with("half")) return row.substr(0, row.size() - 1) + "ves";
    return row + "s";
}

std::string capital(std::string text) {
    if (!text.empty())
        text[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(text[0])));
    return text;
}

class Grouping {
  public:
    explicit Grouping(const Design& design) : rest_(facetsOf(design)) {}

    std::vector<FacetGroup> run() {
        const auto isTable = [](const Named& f) { return f.kind == FacetKind::Table; };
        if (std::any_of(rest_.begin(), rest_.end(), isTable))
            add(FacetGroupKind::Table, "Table",
                "Polish the table. Every depth is measured from it.", taken(isTable));
        else  // a rose sits on its base
            add(FacetGroupKind::Table, "Base", "Polish the base. Every depth is measured from it.",
                taken([](const Named& f) {
                    return f.kind == FacetKind::Other && f.angle_deg < kLevelBelow_deg;
                }));
        add(FacetGroupKind::Girdle, "Girdle", "Round the girdle to its outline.",
            taken([](const Named& f) { return f.kind == FacetKind::Girdle; }));

        const std::vector<Named> pavilion = taken([](const Named& f) {
            return f.kind == FacetKind::PavilionMain || f.kind == FacetKind::PavilionStep;
        });
        const std::vector<Named> crown = taken([](const Named& f) {
            return f.kind == FacetKind::CrownMain || f.kind == FacetKind::CrownStep;
        });
        first("pavilion", pavilion);
        first("crown", crown);
        further("pavilion", pavilion);
        add(FacetGroupKind::Culet, "Culet", "Polish the culet.",
            taken([](const Named& f) { return f.kind == FacetKind::Culet; }));
        further("crown", crown);

        for (const FacetKind kind : {FacetKind::LowerHalf, FacetKind::UpperHalf, FacetKind::Star})
            small(taken([&](const Named& f) { return f.kind == kind; }));
        while (!rest_.empty()) {
            const std::string row = rowOf(rest_.front().name);
            small(taken([&](const Named& f) { return rowOf(f.name) == row; }));
        }
        return std::move(groups_);
    }

  private:
    template <class Wanted>
    std::vector<Named> taken(const Wanted& wanted) {
        std::vector<Named> found;
        std::copy_if(rest_.begin(), rest_.end(), std::back_inserter(found), wanted);
        std::erase_if(rest_, wanted);
        return found;
    }

    void add(FacetGroupKind kind, const std::string& title, const std::string& what,
             const std::vector<Named>& facets) {
        if (!facets.empty()) groups_.push_back({kind, title, what, names(facets)});
    }

    static std::string kindWord(const std::vector<Named>& facets) {
        const bool steps = std::all_of(facets.begin(), facets.end(), [](const Named& f) {
            return f.kind == FacetKind::CrownStep || f.kind == FacetKind::PavilionStep;
        });
        return steps ? "steps" : "mains";
    }

    void first(const std::string& half, const std::vector<Named>& mains) {
        if (mains.empty()) return;
        const std::vector<Named> some = firstOf(mains);
        add(FacetGroupKind::FirstMains, "First " + half + " " + kindWord(some),
            "Block the first " + std::to_string(some.size()) + " of the " + half +
                ", opposite ones after one another.",
            some);
    }

    void further(const std::string& half, const std::vector<Named>& mains) {
        if (mains.empty()) return;
        const std::vector<std::string> done = names(firstOf(mains));
        std::vector<Named> others;
        for (const Named& facet : mains)
            if (std::find(done.begin(), done.end(), facet.name) == done.end())
                others.push_back(facet);
        add(FacetGroupKind::FurtherMains, "Further " + half + " " + kindWord(others),
            "Block the other facets of the " + half + ".", others);
    }

    void small(const std::vector<Named>& facets) {
        if (facets.empty()) return;
        const std::string row = rowOf(facets.front().name);
        const std::string word = facets.size() == 1 ? row : plural(row);
        add(FacetGroupKind::SmallFacets, capital(word), "Cut the " + word + ".", facets);
    }

    std::vector<Named> rest_;
    std::vector<FacetGroup> groups_;
};

}  // namespace

std::vector<FacetGroup> facetGroups(const Design& design) {
    return Grouping(design).run();
}

}  // namespace macle
