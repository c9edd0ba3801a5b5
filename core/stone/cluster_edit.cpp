#include "core/stone/cluster_edit.h"

#include <algorithm>

#include "core/base/error.h"

namespace macle {
namespace {

void checkIndex(int index, std::size_t count, const char* what) {
    if (index < 0 || index >= static_cast<int>(count))
        throw Error(
            ErrorCode::BadUsage,
            std::string("There is no ") + what + " number " + std::to_string(index + 1) + ".",
            "Choose one from the list.");
}

// Lists of members from Defect::cluster; empty clusters go.
void settleMembers(ClusteredDefects& all) {
    std::vector<DefectCluster> kept;
    std::vector<int> place(all.clusters.size(), kNoCluster);
    for (std::size_t c = 0; c < all.clusters.size(); ++c) {
        const bool used = std::any_of(all.defects.begin(), all.defects.end(), [&](const Defect& d) {
            return d.cluster == static_cast<int>(c);
        });
        if (!used) continue;
        place[c] = static_cast<int>(kept.size());
        kept.push_back({all.clusters[c].name, {}});
    }
    for (std::size_t i = 0; i < all.defects.size(); ++i) {
        int& cluster = all.defects[i].cluster;
        if (cluster < 0) continue;
        cluster = place.at(static_cast<std::size_t>(cluster));
        kept[static_cast<std::size_t>(cluster)].members.push_back(static_cast<int>(i));
    }
    all.clusters = std::move(kept);
}

}  // namespace

void moveToCluster(ClusteredDefects& all, const std::vector<int>& defects, int target) {
    if (target != kNoCluster) checkIndex(target, all.clusters.size(), "cluster");
    for (const int defect : defects)
        checkIndex(defect, all.defects.size(), "defect");
    for (const int defect : defects)
        all.defects[static_cast<std::size_t>(defect)].cluster = target;
    settleMembers(all);
}

int moveToNewCluster(ClusteredDefects& all, const std::vector<int>& defects) {
    if (defects.empty())
        throw Error(ErrorCode::BadUsage, "A cluster needs a defect.",
                    "Choose the defects that belong together.");
    for (const int defect : defects)
        checkIndex(defect, all.defects.size(), "defect");
    const auto taken = [&](const std::string& name) {
        return std::any_of(all.clusters.begin(), all.clusters.end(),
                           [&](const DefectCluster& c) { return c.name == name; });
    };
    int number = 1;
    while (taken("cluster " + std::to_string(number)))
        ++number;
    all.clusters.push_back({"cluster " + std::to_string(number), {}});
    moveToCluster(all, defects, static_cast<int>(all.clusters.size()) - 1);
    return static_cast<int>(all.clusters.size()) - 1;
}

int mergeClusters(ClusteredDefects& all, std::vector<int> clusters) {
    std::sort(clusters.begin(), clusters.end());
    clusters.erase(std::unique(clusters.begin(), clusters.end()), clusters.end());
    if (clusters.size() < 2)
        throw Error(ErrorCode::BadUsage, "Merging needs two clusters or more.",
                    "Choose the clusters that are one.");
    for (const int cluster : clusters)
        checkIndex(cluster, all.clusters.size(), "cluster");
    for (Defect& defect : all.defects)
        if (std::binary_search(clusters.begin(), clusters.end(), defect.cluster))
            defect.cluster = clusters.front();
    settleMembers(all);
    return clusters.front();
}

void renameCluster(ClusteredDefects& all, int cluster, const std::string& name) {
    checkIndex(cluster, all.clusters.size(), "cluster");
    if (name.find_first_not_of(" \t") == std::string::npos)
        throw Error(ErrorCode::BadUsage, "A cluster needs a name.", "Enter one.");
    for (std::size_t c = 0; c < all.clusters.size(); ++c)
        if (static_cast<int>(c) != cluster && all.clusters[c].name == name)
            throw Error(ErrorCode::BadUsage, "There is another cluster named '" + name + "'.",
                        "Choose a name of its own, or merge the two.");
    all.clusters[static_cast<std::size_t>(cluster)].name = name;
}

void removeDefect(ClusteredDefects& all, int defect) {
    checkIndex(defect, all.defects.size(), "defect");
    all.defects.erase(all.defects.begin() + defect);
    settleMembers(all);
}

}  // namespace macle
