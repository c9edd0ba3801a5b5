// Editing clusters of defects one by one. Membership stands in Defect::cluster; the lists of
// members follow it, in the order of the defects. A cluster that loses its last member goes, and
// those after it move up. Free functions on plain values; any thread.
#pragma once

#include <string>
#include <vector>

#include "core/stone/defect.h"

namespace macle {

struct ClusteredDefects {
    std::vector<Defect> defects;
    std::vector<DefectCluster> clusters;
};

inline constexpr int kNoCluster = -1;

// Into the cluster `target`, or out of any for kNoCluster. Throws Error{BadUsage} for an index that
// is none.
void moveToCluster(ClusteredDefects& all, const std::vector<int>& defects, int target);

// Into a new cluster, the last one, named "cluster N" with the first N that is free. Gives its
// index. Throws Error{BadUsage} without defects.
int moveToNewCluster(ClusteredDefects& all, const std::vector<int>& defects);

// All members into the first of them, which keeps its name. Gives its index. Throws Error{BadUsage}
// for fewer than two.
int mergeClusters(ClusteredDefects& all, std::vector<int> clusters);

// Throws Error{BadUsage} for an empty name or that of another cluster.
void renameCluster(ClusteredDefects& all, int cluster, const std::string& name);

// Takes the defect out, with its place in a cluster.
void removeDefect(ClusteredDefects& all, int defect);

}  // namespace macle
