// Defects inside a rough: closed meshes, ellipsoids, and thin sheets (cracks); clusters of them.
// Stone frame, mm. The surface used for fitting always encloses the defect as recorded.
#pragma once

#include <Eigen/Geometry>
#include <filesystem>
#include <string>
#include <variant>
#include <vector>

#include "core/stone/mesh.h"

namespace macle {

namespace tolerance {
// A crack is marked on a scan with noise of about 0.01 mm; its corners cannot be flatter.
inline constexpr double kSheetPlanar_mm = 0.01;
}  // namespace tolerance

enum class DefectKind { Crystal, Feather, Cloud, Pinpoint, Crack, GrainLine, Other };
// MayStayAtEdge: it may stay where the crown's edge hides it, wholly above the girdle and beside
// the table (core/solid/crown_edge.h). The fit keeps it out of all else, and the appraisal counts
// it as forbidden where it reaches in.
enum class DefectPolicy { MustBeCutAway, MayStay, MayStayAtEdge };

struct Ellipsoid {
    Eigen::Vector3d centre_mm;
    Eigen::Vector3d halfAxes_mm;  // each > 0
    Eigen::Quaterniond rotation = Eigen::Quaterniond::Identity();
};

// A plane polygon of no thickness, corners in order.
struct Sheet {
    std::vector<Eigen::Vector3d> corners_mm;
};

inline constexpr double kLargestMargin_mm = 10.0;

struct Defect {
    std::string name;
    std::variant<TriangleMesh, Ellipsoid, Sheet> shape;
    DefectKind kind = DefectKind::Other;
    int severity = 3;  // 1 slight .. 5 severe
    DefectPolicy policy = DefectPolicy::MustBeCutAway;
    // Kept between it and every facet, beside the polishing allowance: for doubt about where it
    // lies, or damage around it. 0 .. kLargestMargin_mm.
    double margin_mm = 0.0;
    int cluster = -1;  // index of its cluster, -1 for none yet
};

struct DefectCluster {
    std::string name;
    std::vector<int> members;  // indices of defects
};

// The enclosing surface. Mesh: itself. Ellipsoid: a triangulation whose every face lies on or
// outside the ellipsoid. Sheet: its polygon as triangles (open, both sides count). Throws
// Error{BadInput} for a shape that is none (half-axes not above zero, corners not in one plane).
TriangleMesh defectSurface(const Defect& defect);

// mm3; 0 for a sheet.
double defectVolume_mm3(const Defect& defect);

// Of the defect as recorded; an ellipsoid's surface above reaches a little further.
Box defectBounds(const Defect& defect);

// A mesh file (each shell becomes one defect) or a defect list (JSON, schema
// resources/schemas/defects.schema.json). Throws Error{BadInput} saying which entry and field.
std::vector<Defect> readDefects(const std::filesystem::path& file);
void writeDefects(const std::vector<Defect>& defects, const std::filesystem::path& file);

// Single-linkage clusters by the distance between bounding boxes; sets Defect::cluster.
// Order: by first member. Names "cluster 1", ...
std::vector<DefectCluster> clusterByDistance(std::vector<Defect>& defects, double distance_mm);

const char* kindName(DefectKind kind);                 // "crystal", "grain line", ...
DefectKind kindFromName(const std::string& name);      // throws Error{BadInput}
const char* policyName(DefectPolicy policy);           // "must be cut away", "may stay", ...
DefectPolicy policyFromName(const std::string& name);  // throws Error{BadInput}

}  // namespace macle
