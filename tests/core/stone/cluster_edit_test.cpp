#include "core/stone/cluster_edit.h"

#include <gtest/gtest.h>

#include "core/base/error.h"

namespace macle {
namespace {

using Members = std::vector<int>;

ClusteredDefects sixInThree() {
    ClusteredDefects all;
    for (int i = 0; i < 6; ++i) {
        Defect defect;
        defect.name = "defect " + std::to_string(i + 1);
        defect.shape = Ellipsoid{{2.0 * (i / 2) + 0.3 * i, 0, 0}, {0.1, 0.1, 0.1}};
        all.defects.push_back(defect);
    }
    all.clusters = clusterByDistance(all.defects, 0.5);
    return all;
}

// Both ways of saying who belongs where agree, and no cluster is empty.
void expectSound(const ClusteredDefects& all) {
    for (std::size_t c = 0; c < all.clusters.size(); ++c) {
        EXPECT_FALSE(all.clusters[c].members.empty());
        EXPECT_TRUE(std::is_sorted(all.clusters[c].members.begin(), all.clusters[c].members.end()));
        for (const int member : all.clusters[c].members)
            EXPECT_EQ(all.defects[static_cast<std::size_t>(member)].cluster, static_cast<int>(c));
    }
    std::size_t clustered = 0;
    for (const DefectCluster& cluster : all.clusters)
        clustered += cluster.members.size();
    for (const Defect& defect : all.defects)
        clustered += defect.cluster == kNoCluster ? 1 : 0;
    EXPECT_EQ(clustered, all.defects.size());
}

TEST(ClusterEdit, ADefectMovesToAnotherClusterANewOneOrNone) {
    ClusteredDefects all = sixInThree();
    ASSERT_EQ(all.clusters.size(), 3u);
    moveToCluster(all, {0}, 2);
    expectSound(all);
    EXPECT_EQ(all.clusters[2].members, (Members{0, 4, 5}));
    moveToCluster(all, {1}, kNoCluster);  // its cluster is empty now and goes
    expectSound(all);
    ASSERT_EQ(all.clusters.size(), 2u);
    EXPECT_EQ(all.clusters[1].members, (Members{0, 4, 5}));
    EXPECT_EQ(moveToNewCluster(all, {1, 4}), 2);
    expectSound(all);
    EXPECT_EQ(all.clusters[2].name, "cluster 1") << "the first number that is free";
    EXPECT_EQ(all.clusters[2].members, (Members{1, 4}));
}

TEST(ClusterEdit, TheNewClusterIsFoundWhenItEmptiesAnother) {
    ClusteredDefects all = sixInThree();
    EXPECT_EQ(moveToNewCluster(all, {0, 1}), 2);
    expectSound(all);
    EXPECT_EQ(all.clusters.size(), 3u);
    EXPECT_EQ(all.clusters[2].members, (Members{0, 1}));
}

TEST(ClusterEdit, ClustersAreMergedAndRenamed) {
    ClusteredDefects all = sixInThree();
    EXPECT_EQ(mergeClusters(all, {2, 0, 2}), 0);
    expectSound(all);
    ASSERT_EQ(all.clusters.size(), 2u);
    EXPECT_EQ(all.clusters[0].members, (Members{0, 1, 4, 5}));
    renameCluster(all, 0, "at the corner");
    EXPECT_EQ(all.clusters[0].name, "at the corner");
    renameCluster(all, 0, "at the corner");  // its own name is no clash
    EXPECT_THROW(renameCluster(all, 1, "at the corner"), Error);
    EXPECT_THROW(renameCluster(all, 1, "  "), Error);
    EXPECT_THROW(mergeClusters(all, {1, 1}), Error);
}

TEST(ClusterEdit, ARemovedDefectLeavesItsClusterInOrder) {
    ClusteredDefects all = sixInThree();
    removeDefect(all, 2);
    expectSound(all);
    EXPECT_EQ(all.clusters[1].members, (Members{2}));
    removeDefect(all, 2);
    expectSound(all);
    EXPECT_EQ(all.clusters.size(), 2u);
}

TEST(ClusterEdit, IndicesThatAreNoneAreRefusedAndNothingChanges) {
    ClusteredDefects all = sixInThree();
    EXPECT_THROW(moveToCluster(all, {0}, 3), Error);
    EXPECT_THROW(moveToCluster(all, {6}, 0), Error);
    EXPECT_THROW(moveToCluster(all, {0, -1}, 1), Error);
    EXPECT_THROW(moveToNewCluster(all, {}), Error);
    EXPECT_THROW(moveToNewCluster(all, {9}), Error);
    EXPECT_THROW(mergeClusters(all, {0, 7}), Error);
    EXPECT_THROW(renameCluster(all, -1, "x"), Error);
    EXPECT_THROW(removeDefect(all, 6), Error);
    expectSound(all);
    EXPECT_EQ(all.clusters.size(), 3u);
    EXPECT_EQ(all.clusters[0].members, (Members{0, 1}));
}

}  // namespace
}  // namespace macle
