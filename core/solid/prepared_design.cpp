#include "core/solid/prepared_design.h"

#include <algorithm>
#include <bit>
#include <list>
#include <map>
#include <mutex>
#include <utility>

#include "core/base/error.h"

namespace macle {
namespace {

constexpr std::size_t kMostParts = 6;  // 63 combinations
constexpr std::size_t kRemembered = 8;

bool sameSolids(const Design& a, const Design& b) {
    return std::equal(a.parts.begin(), a.parts.end(), b.parts.begin(), b.parts.end(),
                      [](const ConvexPart& p, const ConvexPart& q) {
                          return std::equal(p.facets.begin(), p.facets.end(), q.facets.begin(),
                                            q.facets.end(), [](const Facet& f, const Facet& g) {
                                                return f.normal == g.normal &&
                                                       f.distance == g.distance && f.kind == g.kind;
                                            });
                      });
}

PreparedSolid preparePart(const Design& design, unsigned members) {
    PreparedSolid part;
    part.members = members;
    ConvexPart common;
    for (std::size_t i = 0; i < design.parts.size(); ++i)
        if (members >> i & 1U)
            common.facets.insert(common.facets.end(), design.parts[i].facets.begin(),
                                 design.parts[i].facets.end());
    part.solid = makeSolid(common);

    const std::size_t faces = part.solid.faces.size();
    part.edgeBetween.assign(faces * faces, -1);
    part.faceEdges.resize(faces);
    std::map<std::pair<int, int>, int> edgeOf;  // directed v0 -> v1
    for (std::size_t f = 0; f < faces; ++f) {
        const SolidFace& face = part.solid.faces[f];
        part.facets.push_back(common.facets[static_cast<std::size_t>(face.facet)]);
        for (std::size_t i = 0; i < face.corners.size(); ++i) {
            const int a = face.corners[i];
            const int b = face.corners[(i + 1) % face.corners.size()];
            const auto reverse = edgeOf.find({b, a});
            if (reverse == edgeOf.end()) {
                const auto number = static_cast<int>(part.edges.size());
                require(edgeOf.emplace(std::pair{a, b}, number).second,
                        "each edge of the design is walked once each way");
                part.edges.push_back({a, b, static_cast<int>(f), -1});
                part.faceEdges[f].push_back(number);
            } else {
                PreparedEdge& edge = part.edges[static_cast<std::size_t>(reverse->second)];
                require(edge.right < 0, "each edge of the design joins two faces");
                edge.right = static_cast<int>(f);
                part.faceEdges[f].push_back(reverse->second);
                const auto left = static_cast<std::size_t>(edge.left);
                part.edgeBetween[left * faces + f] = reverse->second;
                part.edgeBetween[f * faces + left] = reverse->second;
            }
        }
    }
    require(std::all_of(part.edges.begin(), part.edges.end(),
                        [](const PreparedEdge& e) { return e.right >= 0; }),
            "each edge of the design joins two faces");
    return part;
}

PreparedDesign prepareAfresh(const Design& design) {
    const std::size_t count = design.parts.size();
    if (count == 0 || count > kMostParts)
        throw Error(ErrorCode::BadInput,
                    "The design has " + std::to_string(count) + " convex parts; 1 to " +
                        std::to_string(kMostParts) + " are possible.",
                    "Describe the cut with fewer parts.");
    PreparedDesign prepared;
    prepared.singles = count;
    for (std::size_t i = 0; i < count; ++i)
        prepared.parts.push_back(preparePart(design, 1U << i));
    for (unsigned members = 1; members < (1U << count); ++members)
        if (std::popcount(members) > 1) prepared.parts.push_back(preparePart(design, members));
    for (const PreparedSolid& part : prepared.parts)
        prepared.volume += part.sign() * part.solid.volume;
    return prepared;
}

struct Memory {
    std::mutex mutex;
    std::list<std::pair<Design, std::shared_ptr<const PreparedDesign>>> recent;
};

Memory& memory() {
    static Memory instance;
    return instance;
}

}  // namespace

double PreparedSolid::sign() const {
    return std::popcount(members) % 2 == 1 ? 1.0 : -1.0;
}

std::shared_ptr<const PreparedDesign> prepareDesign(const Design& design) {
    Memory& known = memory();
    {
        const std::lock_guard lock(known.mutex);
        for (auto it = known.recent.begin(); it != known.recent.end(); ++it)
            if (sameSolids(it->first, design)) {
                known.recent.splice(known.recent.begin(), known.recent, it);
                return known.recent.front().second;
            }
    }
    auto prepared = std::make_shared<const PreparedDesign>(prepareAfresh(design));
    const std::lock_guard lock(known.mutex);
    known.recent.emplace_front(design, prepared);
    if (known.recent.size() > kRemembered) known.recent.pop_back();
    return prepared;
}

}  // namespace macle
