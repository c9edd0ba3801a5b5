// CameraLink: several views of one stone that turn together. Whichever is turned, by hand, by keys
// or by a view button, takes the others with it.
// Thread contract: GUI thread. The views must outlive the link, or be removed from it.
#pragma once

#include <QObject>
#include <array>
#include <vector>

namespace macle::app {

class StoneView;

class CameraLink : public QObject {
    Q_OBJECT
  public:
    explicit CameraLink(QObject* parent = nullptr);
    ~CameraLink() override;

    void setViews(const std::vector<StoneView*>& views);  // the first one leads
    // Linking anew gives all views the pose of the one moved last.
    void setLinked(bool linked);
    bool linked() const { return linked_; }
    StoneView* leader() const { return leader_; }  // moved last; null without views

  private:
    struct Watch {
        StoneView* view = nullptr;
        unsigned long tag = 0;
        std::array<double, 10> pose{};  // place, focus, up, scale, as last seen
    };
    void noticed(StoneView* view);
    void spread();  // the leader's pose to the others
    void release();

    std::vector<Watch> watched_;
    StoneView* leader_ = nullptr;
    bool linked_ = true;
    bool copying_ = false;
};

// Turns the view about its centre as the arrow keys do: to the right and up, degrees.
void turnView(StoneView& view, double right_deg, double up_deg);
// Larger than 1 comes nearer.
void zoomView(StoneView& view, double factor);

}  // namespace macle::app
